"""Repair: the past and cars that have left stay, as few people as possible move, and that is proved."""

from dataclasses import replace
from functools import cache

import pytest

from tests.core.rotation.solver_cases import a_problem, data_problem, every_plan
from trips.core.checker import check
from trips.core.figures import figures
from trips.core.rotation.problem import Pin, Plan, Problem
from trips.core.rotation.shares import best_alone
from trips.core.rotation.solve import solve

MANY = "8x5x10-1"


@cache
def long_rota() -> Plan:
    """A rota of eight people, five hides and ten sessions."""
    return issued_rota(data_problem(MANY))


def issued_rota(problem: Problem) -> Plan:
    plan = solve(problem, effort=1).plan
    assert plan is not None
    return plan


def repaired(problem: Problem) -> tuple[Plan, int]:
    """The sound repair and the changes that its stage states, proved."""
    outcome = solve(problem, effort=1)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    stage = next(stage for stage in outcome.stages if stage.name == "changes")
    assert stage.proved
    assert stage.best == stage.bound
    return outcome.plan, int(stage.value)


def closed_later(mode: str) -> Problem:
    """A rota under way, two hides of one session closed."""
    problem, plan = data_problem(MANY), long_rota()
    used = sorted({turn.hide for turn in plan.turns if turn.session == 7})
    closed = problem.closed | {(7, hide) for hide in used[:2]}
    return replace(
        problem, issued=plan, past=4, closed=closed, best_alone=best_alone(problem), repair=mode, tolerance=0.01
    )


def test_nothing_to_repair_moves_nobody() -> None:
    problem, plan = data_problem(MANY), long_rota()
    mended, changes = repaired(replace(problem, issued=plan, past=3, repair="fewest"))
    assert changes == 0
    assert set(mended.turns) == set(plan.turns)


def test_only_the_touched_session_changes_and_the_past_never() -> None:
    problem = closed_later("fewest")
    problem = replace(problem, visits_at_most=len(problem.sessions))  # no visit too many elsewhere
    mended, changes = repaired(problem)
    counted = figures(problem, mended)
    assert len(counted.changes) == changes
    assert {session for _, session in counted.changes} == {7}
    assert {turn for turn in mended.turns if turn.session < 4} == {
        turn for turn in problem.issued.turns if turn.session < 4
    }


def test_a_few_more_changes_are_two_at_most_and_never_worse_for_the_worst_off() -> None:
    fewest, least = repaired(closed_later("fewest"))
    few, _ = repaired(closed_later("few"))
    problem = closed_later("few")
    assert len(figures(problem, few).changes) <= least + 2
    assert figures(problem, few).worst_share >= 0.99 * figures(problem, fewest).worst_share - 1e-6


def test_free_repair_keeps_the_past_and_may_move_everybody_else() -> None:
    problem = closed_later("free")
    outcome = solve(problem, effort=1)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert "changes" not in {stage.name for stage in outcome.stages}
    assert outcome.worst_share >= figures(problem, repaired(closed_later("fewest"))[0]).worst_share - 1e-6


@pytest.mark.parametrize("session", range(2))
def test_fewest_changes_match_a_comparison_of_all_plans(session: int) -> None:
    points = tuple(
        tuple(tuple(float((17 * p + 31 * s + 13 * h) % 90) for h in range(3)) for s in range(2)) for p in range(4)
    )
    problem = a_problem(4, 2, (2, 1, 1), points=points)
    plan = issued_rota(problem)
    hide = next(turn.hide for turn in plan.turns if turn.session == session)
    rests = tuple(2 if when == session else 0 for when in range(2))
    broken = replace(problem, issued=plan, closed=frozenset({(session, hide)}), repair="fewest", rests_allowed=rests)
    plans = every_plan(broken, 10_000)
    assert plans is not None
    sound = [figures(broken, other) for other in plans if not check(broken, other).faults]
    fewest = min((sum(counted.rests), counted.rests_repeated) for counted in sound)
    least = min(len(c.changes) for c in sound if (sum(c.rests), c.rests_repeated) == fewest)
    assert repaired(broken)[1] == least


def test_who_sits_in_a_car_that_has_left_stays_and_nobody_joins() -> None:
    problem, plan = data_problem(MANY), long_rota()
    hide = next(turn.hide for turn in plan.turns if turn.session == 5 and turn.person >= 0)
    gone = next(turn.person for turn in plan.turns if turn.session == 5 and turn.hide != hide and turn.person >= 0)
    late = replace(
        problem, issued=plan, frozen=frozenset({(5, hide)}), repair="fewest", absent=problem.absent | {(gone, 5)}
    )
    mended, _ = repaired(late)
    before = {turn for turn in plan.turns if (turn.session, turn.hide) == (5, hide)}
    assert {turn for turn in mended.turns if (turn.session, turn.hide) == (5, hide)} == before


def test_a_rule_over_the_whole_trip_can_force_changes_elsewhere_and_that_is_proved_too() -> None:
    """One visit each: pinning somebody where they sit later anyway moves them later as well."""
    points = ((((50.0, 50.0),) * 2),) * 2
    problem = a_problem(2, 2, (1, 1), points=points, visits_at_most=1)
    plan = issued_rota(problem)
    later = next(turn for turn in plan.turns if turn.session == 1)
    pinned = replace(problem, issued=plan, pins=(Pin(later.person, 0, later.hide),), repair="fewest")
    _, changes = repaired(pinned)
    assert changes == 4
