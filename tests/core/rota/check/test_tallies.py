"""The checker's own count agrees with the planner's to 1e-9, and catches it where it is wrong."""

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.rota.rota_cases import camp, plan_of
from tests.core.rota.solver_cases import a_problem, data_problem, random_problem
from trips.core.rota.check.best_alone import best_alone
from trips.core.rota.check.checker import Stated, check
from trips.core.rota.check.seating import seating_of
from trips.core.rota.check.tallies import tallies
from trips.core.rota.problem import shares
from trips.core.rota.problem.values import LEADER, Pin, Plan, Problem, Turn

PLAN = plan_of(["AABB", "BBAA", "CABA", "ABCB"])


def random_case(chance: Random) -> tuple[Problem, Plan]:
    """A problem that may use every rule and a plan that need not keep any: stays, parts and the leader among it."""
    problem = random_problem(chance, (5, 6, 4))
    sessions, hides = range(len(problem.sessions)), range(len(problem.hides))
    cells = [(person, session) for person in (LEADER, *range(len(problem.people))) for session in sessions]
    turns = tuple(
        Turn(person, session, chance.choice(hides), stays=chance.random() < 0.2, part=chance.choice((0, 0, 0, 1, 2)))
        for person, session in cells
        if chance.random() < 0.9
    )
    stays = frozenset((turn.person, turn.session, turn.hide) for turn in turns if chance.random() < 0.1)
    losses = chance.choice(((), (0.1,), (0.0, 0.4, 0.65), problem.visit_loss))
    return replace(problem, stays=stays, visit_loss=losses), Plan(turns)


@given(st.integers(0, 2**32))
@settings(max_examples=200, deadline=None)
def test_planner_and_checker_count_alike_whatever_the_plan(seed: int) -> None:
    problem, plan = random_case(Random(seed))
    counted = tallies(problem, plan)
    assert counted.points == pytest.approx(shares.points_of(problem, plan), abs=1e-9)
    assert best_alone(problem) == pytest.approx(shares.best_alone(problem), abs=1e-9)
    assert counted.shares == pytest.approx(shares.shares_of(problem, plan), abs=1e-9)
    assert counted.worst_share == pytest.approx(shares.worst_share(problem, plan), abs=1e-9)
    assert counted.total_of_shares == pytest.approx(shares.total_of_shares(problem, plan), abs=1e-9)
    assert counted.pairs_met == shares.pairs_met(plan)
    visits = seating_of(problem, plan).visits_by_person()
    assert visits == tuple(shares.visits(problem, turns) for turns in shares.turns_by_person(problem, plan))


@pytest.mark.parametrize("name", ["24x12x20-1", "40x15x24-1"])
def test_the_best_alone_of_the_largest_trips_is_that_of_the_planner(name: str) -> None:
    problem = data_problem(name)
    assert best_alone(problem) == pytest.approx(shares.best_alone(problem), abs=1e-9)


@pytest.mark.parametrize("wrong", ["averages", "loss_points", "turn_points", "best_alone"])
def test_a_planner_that_counts_wrongly_is_caught(wrong: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One definition of the planner is broken at a time: the checker must not follow it."""
    problem, plan = camp(), plan_of(["AABB", "AABB", "BBAA", "CABA"])
    assert check(problem, plan, Stated(shares=shares.shares_of(problem, plan))).is_sound
    right = getattr(shares, wrong)

    def broken(*given: object) -> object:
        value = right(*given)
        return tuple(1.01 * each for each in value) if isinstance(value, tuple) else 1.01 * value

    monkeypatch.setattr(shares, wrong, broken)
    faults = check(problem, plan, Stated(shares=shares.shares_of(problem, plan))).faults
    assert [fault.rule for fault in faults] == ["stated_shares"]


def test_one_wrong_share_is_caught_and_its_person_named() -> None:
    own = list(tallies(camp(), PLAN).shares)
    own[2] += 1e-5
    (fault,) = check(camp(), PLAN, Stated(shares=tuple(own))).faults
    assert (fault.rule, fault.people) == ("stated_shares", (2,))


def test_points_done_by_hand() -> None:
    """40 + 20 + 60, a second visit to the same hide at 0.4 of the mean of 30, and half a seat of 60."""
    problem = a_problem(1, 3, (1, 1), points=(((40.0, 0.0), (20.0, 0.0), (0.0, 60.0)),))
    problem = replace(problem, closed=frozenset({(2, 0)}))
    whole = Plan((Turn(0, 0, 0), Turn(0, 1, 0), Turn(0, 2, 1)))
    assert tallies(problem, whole).points == pytest.approx((40 + 20 - 0.4 * 30 + 60,))
    part = replace(whole, turns=(*whole.turns[:2], replace(whole.turns[2], part=1)))
    assert tallies(problem, part).points == pytest.approx((40 + 20 - 0.4 * 30 + 30,))


def test_a_stay_within_a_longer_day_joins_all_its_turns_to_one_visit() -> None:
    turns = (Turn(0, 0, 0), Turn(0, 1, 0, stays=True), Turn(0, 2, 0), Turn(0, 3, 0))
    problem = camp(joined=((0, (0, 2)),))
    visits = seating_of(problem, Plan(turns)).visits_by_person()[0]
    assert [[turn.session for turn in visit] for visit in visits] == [[0, 1, 2], [3]]


def best_of(points: list[list[float]], **changes: object) -> float:
    """The best alone of one person with these points [session][hide]; a second visit loses half the mean."""
    problem = a_problem(
        1,
        len(points),
        (1,) * len(points[0]),
        points=(tuple(tuple(row) for row in points),),
        **{"visit_loss": (0.0, 0.5), **changes},
    )
    return best_alone(problem)[0]


def test_the_best_alone_done_by_hand() -> None:
    assert best_of([[10, 8], [10, 0]]) == 18  # 8 and 10, rather than 10 and 10 less half of 10
    assert best_of([[10, 8], [10, 0]], closed=frozenset({(0, 1)})) == 15
    assert best_of([[10, 8], [10, 0]], pins=(Pin(0, 0, 0),)) == 15
    assert best_of([[10, 8], [10, 0]], absent=frozenset({(0, 1)})) == 10
    assert best_of([[10, 8], [10, 0]], no_loss=frozenset({(0, 0)})) == 20
    assert best_of([[10], [0]]) == 7.5  # the second session has to have a turn, which costs half the mean of 5
    assert best_of([[10], [0]], rests_allowed=(0, 1)) == 10
    assert best_of([[10], [30]], visits_at_most=1, rests_allowed=(1, 0)) == 30
    assert best_of([[10], [0]], visits_at_most=0) == 0
    assert best_of([[10, 90], [20, 90]], visits_at_most=1, rests_allowed=(0, 0)) == 110


def test_nothing_to_count_is_no_crash() -> None:
    empty = Problem("empty", (), (), (), ())
    assert tallies(empty, Plan()).worst_share == 1.0
    assert best_alone(camp(hides=())) == (0.0,) * 4
    nobody = camp(absent=frozenset((p, s) for p in range(4) for s in range(4)))
    assert tallies(nobody, Plan()).shares == (1.0,) * 4
    assert best_alone(camp(best_alone=(1.0, 2.0, 3.0, 4.0))) == (1.0, 2.0, 3.0, 4.0)
