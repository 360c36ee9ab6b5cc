"""Same problem, seed and effort, same rota; an early end keeps the best plan and never says impossible."""

import threading
from dataclasses import replace
from time import monotonic

import pytest

from tests.core.rota.solver_cases import a_problem, data_problem, real_trip
from trips.core.rota.check.checker import check
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.outcome import Outcome, Progress, SearchTime
from trips.core.rota.search.solve import solve


def everything_but_the_clock(outcome: Outcome) -> Outcome:
    return replace(outcome, seconds=0.0, seconds_to_first_plan=None)


def busy(stop: threading.Event) -> None:
    while not stop.is_set():
        sum(range(1000))


@pytest.mark.parametrize(
    "problem",
    [
        pytest.param(real_trip("six"), id="tiny"),
        pytest.param(real_trip("learnt_chances"), id="small"),
        pytest.param(data_problem("10x6x12-1"), id="with neighbourhoods and branch and bound"),
    ],
)
def test_two_runs_are_alike_also_with_other_work_beside_them(problem: Problem) -> None:
    first = solve(problem, search_time=SearchTime.QUICK, seed=3)
    stop = threading.Event()
    rivals = [threading.Thread(target=busy, args=(stop,)) for _ in range(2)]
    for rival in rivals:
        rival.start()
    second = solve(problem, search_time=SearchTime.QUICK, seed=3)
    stop.set()
    for rival in rivals:
        rival.join()
    assert everything_but_the_clock(first) == everything_but_the_clock(second)


def test_watching_and_a_generous_cap_change_nothing() -> None:
    problem = data_problem("8x5x10-1")
    seen: list[Progress] = []
    watched = solve(
        problem, search_time=SearchTime.QUICK, progress=seen.append, stop=StopSignal(lambda: False, 3600, monotonic)
    )
    assert everything_but_the_clock(watched) == everything_but_the_clock(solve(problem, search_time=SearchTime.QUICK))
    assert seen[0].stage == "first_plan"
    assert all(report.bound >= report.worst_share for report in seen)


def test_a_cancelled_run_keeps_its_best_plan_and_says_so() -> None:
    problem = data_problem("12x6x12-1")
    seen: list[Progress] = []
    outcome = solve(problem, progress=seen.append, stop=StopSignal(lambda: len(seen) >= 2))
    assert outcome.status == "stopped_early"
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert outcome.worst_share >= seen[0].worst_share - 1e-6
    assert outcome.bound >= outcome.worst_share


def test_a_run_that_has_no_time_is_never_called_impossible() -> None:
    outcome = solve(data_problem("24x12x20-1"), stop=StopSignal(at_most_seconds=0.0, clock=monotonic))
    assert outcome.status == "stopped_early"


def test_a_cancelled_run_of_an_impossible_problem_does_not_claim_more_than_it_knows() -> None:
    """Half-together pairs make even the first plan a search; ended at once it knows nothing."""
    problem = a_problem(12, 8, (2,) * 6, half_together=tuple((p, q) for p in range(12) for q in range(p)))
    outcome = solve(problem, stop=StopSignal(lambda: True))
    assert outcome.status == "stopped_early"


def test_a_cap_in_seconds_ends_a_run() -> None:
    outcome = solve(
        data_problem("16x8x14-1"),
        search_time=SearchTime.THOROUGH,
        stop=StopSignal(at_most_seconds=3.0, clock=monotonic),
    )
    assert outcome.status == "stopped_early"
    assert outcome.plan is not None
    assert outcome.seconds < 60.0


def test_more_effort_is_never_worse_in_small_problems() -> None:
    problem = data_problem("6x4x8-1")
    assert (
        solve(problem, search_time=SearchTime.NORMAL).worst_share
        >= solve(problem, search_time=SearchTime.QUICK).worst_share - 1e-6
    )
