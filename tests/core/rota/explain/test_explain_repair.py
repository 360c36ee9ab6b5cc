"""In a repair what is over and what has left counts in no rule but those that go on, for planner and reasons alike."""

from dataclasses import replace

import pytest

from tests.core.rota.rota_cases import camp, hide, plan_of
from trips.core.rota.check.checker import check
from trips.core.rota.explain.conflicts import Help, Reason
from trips.core.rota.explain.counting import count_conflicts
from trips.core.rota.explain.explain import explain
from trips.core.rota.problem.values import LEADER, Pin, Plan, Problem, ProblemHide, ProblemSeat
from trips.core.rota.search.outcome import IMPOSSIBLE, SearchTime
from trips.core.rota.search.solve import solve

ISSUED = plan_of(["AABB", "BBAA", "AABB", "BBAA"])
BIRCH_LEFT = {"issued": ISSUED, "past": 1, "frozen": frozenset({(1, 1)}), "repair": "fewest"}
ALL_IN_ONE = (hide("A", 4),)
A_SEAT_GONE = (hide("A", 2), ProblemHide("B", (ProblemSeat("b1"), ProblemSeat("b2", out_from=1))), hide("C", 1))


def assert_planned(problem: Problem) -> Plan:
    """The planner finds a rota that the checker accepts, and the reasons agree."""
    outcome = solve(problem, search_time=SearchTime.QUICK)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert count_conflicts(problem) == ()
    assert explain(problem).verdict == "possible"
    return outcome.plan


def rules_in_conflict(problem: Problem) -> set[str]:
    """The rules named where the planner and the reasons agree that there is no rota."""
    assert solve(problem, search_time=SearchTime.QUICK).status == IMPOSSIBLE
    explanation = explain(problem)
    assert explanation.verdict == "impossible"
    return {reason.rule for conflict in explanation.conflicts for reason in conflict.reasons}


@pytest.mark.parametrize(
    "changes",
    [
        {"closed": frozenset({(1, 1)})},
        {"cannot": frozenset({(0, 1)})},
        {"cannot_then": frozenset({(0, 1, 1)})},
        {"absent": frozenset({(0, 1)})},
        {"apart": ((0, 1),)},
        {"together": ((0, 2),)},
        {"helpers": ((0, 2),)},
        {"hides": A_SEAT_GONE, "rests_allowed": (0, 0, 1, 1)},
        {"hides": (hide("A", 2), hide("B", 2, 3), hide("C", 1)), "rests_allowed": (0, 0, 1, 1)},
        {"joined": ((1, (1, 2)),)},
        {"open_hides_at_once": 2},
        {"visits_at_most": 2},
        {"pins": (Pin(2, 1, 1), Pin(LEADER, 1, 1))},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_a_hide_whose_car_has_left_is_exempt(changes: dict[str, object]) -> None:
    plan = assert_planned(camp(**(BIRCH_LEFT | changes)))
    assert {turn for turn in plan.turns if (turn.session, turn.hide) == (1, 1)} == {
        turn for turn in ISSUED.turns if (turn.session, turn.hide) == (1, 1)
    }


def test_those_whose_car_has_left_are_not_counted_against_the_seats_of_the_others() -> None:
    problem = camp(**BIRCH_LEFT, closed=frozenset({(1, 0)}))
    (reason,) = (reason for reason in count_conflicts(problem) if reason.rule == "seats")
    assert dict(reason.figures) == {"people": 2, "rests": 0, "gone": 2, "seats": 1, "short": 1}
    assert reason.sessions == (1,)


def test_the_hides_that_have_left_count_among_those_open_at_once() -> None:
    problem = camp(**(BIRCH_LEFT | {"open_hides_at_once": 2, "hides": (hide("A", 1), hide("B", 2), hide("C", 1))}))
    (reason, *_) = count_conflicts(problem)
    assert (reason.rule, reason.sessions) == ("seats_open_at_once", (1,))
    assert (dict(reason.figures)["most"], dict(reason.figures)["people"], dict(reason.figures)["short"]) == (1, 2, 1)


def test_a_pin_of_somebody_whose_car_has_left_is_told_and_taken_off() -> None:
    problem = camp(**BIRCH_LEFT, pins=(Pin(0, 1, 0),))
    assert rules_in_conflict(problem) == {"pin_left"}
    (conflict,) = explain(problem).conflicts
    assert conflict.reasons == (Reason("pin_left", (0,), (1,), (0, 1)),)
    assert conflict.helps == (Help("unpin", (0,), (1,), (0,)),)


def test_joined_sessions_that_are_over_count_as_one_visit() -> None:
    joined = {"issued": plan_of(["AAAA"] * 3), "past": 2, "joined": ((0, (0, 1)),), "hides": ALL_IN_ONE}
    problem = camp(**joined, sessions=("S1", "S2", "S3"), visits_at_most=2)
    assert_planned(problem)
    assert "visits_at_most" in rules_in_conflict(replace(problem, joined=()))


def test_the_last_session_that_is_over_counts_for_twice_running() -> None:
    problem = camp(
        sessions=("S1", "S2"), hides=ALL_IN_ONE, issued=plan_of(["AAAA"] * 2), past=1, never_twice_running=True
    )
    assert rules_in_conflict(problem) == {"turn", "twice_running"}


def test_the_sessions_that_are_over_count_as_sessions_in_a_row() -> None:
    over = camp(sessions=("S1", "S2", "S3"), hides=ALL_IN_ONE, issued=plan_of(["AAAA"] * 3), past=2)
    assert rules_in_conflict(replace(over, consecutive_turns_at_most=2)) == {"rests_in_a_row"}
    assert_planned(replace(over, consecutive_turns_at_most=2, rests_allowed=(0, 0, 4)))


def test_nobody_joins_an_all_day_hide_that_has_begun() -> None:
    hides = (hide("A", 4), hide("B", 2))
    problem = camp(sessions=("S1", "S2"), hides=hides, issued=plan_of(["AABB"] * 2), past=1, joined=((0, (0, 1)),))
    assert_planned(problem)
    assert "joined" in rules_in_conflict(replace(problem, cannot=frozenset({(2, 1)})))


def test_who_stays_through_a_break_that_has_begun_goes_on() -> None:
    staying = replace(ISSUED, turns=tuple(replace(t, stays=t.session == 0 and t.person == 0) for t in ISSUED.turns))
    moved = tuple(replace(t, hide=0) if (t.person, t.session) == (0, 1) else t for t in staying.turns)
    problem = camp(issued=replace(staying, turns=moved), past=1, pins=(Pin(0, 1, 2),))
    assert rules_in_conflict(problem) == {"pin", "stay"}


def test_a_pair_named_late_needs_half_of_what_is_left() -> None:
    pair = {"issued": ISSUED, "half_together": ((0, 2),), "repair": "fewest"}
    assert_planned(camp(**pair, past=3))
    plan = assert_planned(camp(**pair, past=2))
    where = {(turn.person, turn.session): turn.hide for turn in plan.turns}
    assert sum(where[0, session] == where[2, session] for session in (2, 3)) == 1


def test_a_pair_that_has_met_enough_is_asked_for_nothing_more() -> None:
    issued = plan_of(["AABB", "AABB", "ABAB", "ABAB"])
    problem = camp(issued=issued, past=2, half_together=((0, 1),), repair="fewest")
    assert set(assert_planned(problem).turns) == set(issued.turns)


def test_a_pair_that_cannot_meet_in_what_is_left_is_named() -> None:
    hides = tuple(hide(name, 1) for name in "ABCD")
    problem = camp(hides=hides, issued=plan_of(["ABCD"] * 4), past=1, half_together=((0, 1),))
    assert "half_together" in rules_in_conflict(problem)


def test_seats_pinned_in_a_hide_whose_car_has_left_do_not_matter() -> None:
    pins = (Pin(0, 1, 1, 1), Pin(1, 1, 1, 1), Pin(1, 2, 0))
    assert_planned(camp(**BIRCH_LEFT, pins=pins))


@pytest.mark.parametrize(
    "left", [{"past": 1}, {"past": 0, "frozen": frozenset({(0, 0), (0, 1)})}], ids=["over", "left"]
)
def test_a_stay_that_did_not_begin_keeps_nobody_out_of_the_hide(left: dict[str, object]) -> None:
    stay = frozenset({(0, 0, 1)})
    for seat in (0, 1):
        plan = assert_planned(
            camp(**(BIRCH_LEFT | {"frozen": frozenset()} | left), stays=stay, pins=(Pin(0, 1, 1, seat),))
        )
        assert [(turn.hide, turn.seat) for turn in plan.turns if (turn.person, turn.session) == (0, 1)] == [(1, seat)]
