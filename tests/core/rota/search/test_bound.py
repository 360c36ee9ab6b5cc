"""The bound from whole turns: never below the best rota, near it where the rota is small, and the same every time."""

from dataclasses import replace
from random import Random

import highspy
import pytest

from tests.core.rota.solver_cases import data_problem, every_plan, random_problem
from trips.core.rota.check.checker import check
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search.bound import BranchAndBound
from trips.core.rota.search.lp_relaxation import LpRelaxation
from trips.core.rota.search.lp_solve import solve_lp
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.preprocess import preprocess
from trips.core.rota.search.solve import solve

AT_MOST_PLANS = 2000


def bounded(relaxation: LpRelaxation, nodes: int, floor: float = 0.0) -> float:
    return BranchAndBound.start(relaxation, nodes, floor).future.result()


@pytest.fixture(scope="module")
def six_people() -> LpRelaxation:
    return LpRelaxation(preprocess(data_problem("6x4x8-1")))


@pytest.fixture(scope="module")
def best_of_six() -> float:
    """Proved by the constraint solver, which knows nothing of these rows."""
    outcome = solve(data_problem("6x4x8-1"))
    assert outcome.bound == outcome.worst_share
    return outcome.worst_share


def test_no_plan_of_any_small_problem_passes_the_bound() -> None:
    compared = 0
    for seed in range(90):
        problem = random_problem(Random(seed))
        plans, space = every_plan(problem, AT_MOST_PLANS), preprocess(problem)
        if not plans or space.impossible_cells:
            continue
        found = [verdict.tallies for verdict in (check(problem, plan) for plan in plans) if not verdict.faults]
        worst = max((min(tally.shares[p] for p in space.counted) for tally in found if space.counted), default=None)
        if worst is not None:
            compared += 1
            assert bounded(LpRelaxation(space), 50) >= worst, seed
    assert compared >= 20


def test_sessions_in_a_row_lower_the_bound() -> None:
    """Without them it would promise what no rota can have: of four sessions in a row everybody rests in one."""
    free = replace(data_problem("8x5x10-1"), rests_allowed=(2,) * 10)
    held = replace(free, consecutive_turns_at_most=3)
    bounds = [solve_lp(LpRelaxation(preprocess(problem))).bound for problem in (held, free)]
    assert bounds[0] < bounds[1] - 0.05
    assert solve(held, search_time=SearchTime.QUICK).worst_share <= bounds[0]


def test_it_is_near_the_best_rota_where_branching_ends(six_people: LpRelaxation, best_of_six: float) -> None:
    bound, linear = bounded(six_people, 5000), solve_lp(six_people).bound
    assert best_of_six <= bound <= best_of_six + 2e-4
    assert bound < linear


def test_more_nodes_bound_no_worse_and_one_node_is_sound(six_people: LpRelaxation, best_of_six: float) -> None:
    bounds = [bounded(six_people, nodes) for nodes in (1, 5, 5000)]
    assert bounds == sorted(bounds, reverse=True)
    assert bounds[-1] >= best_of_six


def test_a_floor_cuts_off_what_is_below_and_no_more(six_people: LpRelaxation, best_of_six: float) -> None:
    below, above = best_of_six - 0.01, best_of_six + 0.001
    assert best_of_six <= bounded(six_people, 5000, below) <= best_of_six + 2e-4
    assert above <= bounded(six_people, 5000, above) <= above + 2e-5  # nothing is there


def test_a_floor_above_the_best_is_ruled_out(six_people: LpRelaxation, best_of_six: float) -> None:
    for floor, ruled_out in ((best_of_six + 0.001, True), (best_of_six - 0.001, False)):
        branching = BranchAndBound.start(six_people, 5000, floor)
        branching.wait(StopSignal())
        assert branching.rules_out == ruled_out


def test_it_is_the_same_every_time_also_side_by_side() -> None:
    relaxation = LpRelaxation(preprocess(data_problem("8x5x10-1")))
    under_way = [BranchAndBound.start(relaxation, 30) for _ in range(3)]
    bounds = {bound.wait(StopSignal()) for bound in under_way}
    assert bounds == {bounded(relaxation, 30)}


@pytest.mark.parametrize("asked", [1, 8])
def test_a_stop_ends_the_solver_and_leaves_no_thread_at_work(asked: int) -> None:
    """At the first question, before it has begun maybe, and in the midst of its cuts."""
    branching = BranchAndBound.start(LpRelaxation(preprocess(data_problem("10x6x12-1"))), 10_000_000)
    answers = iter([False] * (asked - 1))
    assert branching.wait(StopSignal(lambda: next(answers, True))) is None
    assert branching.future.done()
    assert branching.solver.getModelStatus() == highspy.HighsModelStatus.kInterrupt
    assert not branching.rules_out
