"""Small rotas, planned."""

from trips.core.rota.check.checker import check
from trips.core.rota.check.tallies import Tallies, tallies
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.outcome import Outcome, SearchTime
from trips.core.rota.search.solve import solve


def planned(problem: Problem, seed: int = 0, search_time: SearchTime = SearchTime.QUICK) -> tuple[Outcome, Tallies]:
    """A sound plan and its tallies."""
    outcome = solve(problem, seed=seed, search_time=search_time)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    return outcome, tallies(problem, outcome.plan)
