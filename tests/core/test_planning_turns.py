"""Whose turn it is with the planner."""

from datetime import UTC, datetime, timedelta

from trips.core.planning_turns import WaitingRun, next_run

NOON = datetime(2027, 5, 8, 12, tzinfo=UTC)


def run(key, leader, minute):
    return WaitingRun(key, leader, NOON + timedelta(minutes=minute))


def order(waiting, under_way=None, served_at=None):
    """All runs one after another, each over before the next begins."""
    waiting, served, found = list(waiting), dict(served_at or {}), []
    while (chosen := next_run(waiting, under_way or {}, served)) is not None:
        waiting.remove(chosen)
        served[chosen.leader] = NOON + timedelta(hours=1, minutes=len(found))
        found.append(chosen.key)
    return found


def test_nobody_waits_and_nothing_comes():
    assert next_run([], {}, {}) is None


def test_of_one_leader_the_oldest_comes_first():
    assert order([run("b", "lena", 1), run("a", "lena", 0), run("c", "lena", 2)]) == ["a", "b", "c"]


def test_a_leader_with_many_trips_does_not_hold_up_another():
    many = [run(f"a{n}", "lena", n) for n in range(4)]
    assert order([*many, run("b", "marta", 9), run("c", "otto", 10)]) == ["a0", "b", "c", "a1", "a2", "a3"]


def test_whoever_was_served_longest_ago_comes_first():
    served = {"lena": NOON, "marta": NOON - timedelta(hours=1)}
    assert order([run("a", "lena", 0), run("b", "marta", 1)], served_at=served) == ["b", "a"]


def test_a_leader_at_the_cap_waits_and_the_others_go_on():
    waiting = [run("a", "lena", 0), run("b", "marta", 1)]
    assert order(waiting, under_way={"lena": 2, "marta": 1}) == ["b"]
    assert next_run(waiting[:1], {"lena": 2}, {}) is None
    assert next_run(waiting[:1], {"lena": 2}, {}, most=3) == waiting[0]
