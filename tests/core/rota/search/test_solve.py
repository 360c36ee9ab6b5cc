"""The planner against full comparison: the small problems in data/, whose optimum was found by brute force."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.core.rota.solver_cases import a_problem, real_trip
from trips.core.rota.check.checker import check
from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.problem.values import Pin
from trips.core.rota.search.lp_solve import PendingLp
from trips.core.rota.search.neighbourhood_search import NeighbourhoodSearch
from trips.core.rota.search.solve import solve

DATA = Path(__file__).parents[1] / "data"


@pytest.mark.parametrize("name", sorted(path.stem for path in DATA.glob("tiny-*.json")))
def test_small_problems_reach_the_optimum_of_a_full_comparison(name: str) -> None:
    text = (DATA / f"{name}.json").read_text()
    optimum = json.loads(text)["optimum"]
    problem = read_problem(text)
    outcome = solve(problem)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).is_sound
    assert outcome.status == "optimal"
    assert outcome.worst_share == pytest.approx(optimum["worst_share"], abs=1e-6)
    assert outcome.bound == pytest.approx(outcome.worst_share, abs=2e-6)
    assert outcome.total_of_shares == pytest.approx(optimum["total_of_shares"], abs=2e-6)


def test_a_proved_worst_share_below_nothing_is_its_own_bound() -> None:
    """Two visits there cost more than they bring: the hide is worth much in the session that the person misses."""
    points = (((100.0, 50.0), (1.0, 50.0), (1.0, 50.0)), ((0.0, 50.0),) * 3)
    pins = tuple(Pin(1, session, 1) for session in range(3))
    outcome = solve(a_problem(2, 3, (1, 1), points=points, absent=frozenset({(0, 0)}), pins=pins))
    assert outcome.status == "optimal"
    assert outcome.worst_share < 0
    assert outcome.bound == pytest.approx(outcome.worst_share)


@pytest.mark.parametrize(("name", "lps"), [("four", 0), ("five", 0), ("six", 0), ("joined_day", 1)])
def test_a_small_trip_goes_straight_to_the_model_of_the_whole(
    name: str, lps: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until the worst share is proved: no neighbourhoods, and no LP relaxation where the trip is tiny."""
    begun: list[str] = []
    stages: list[str] = []

    def watched(room: Any, method: str) -> None:
        unwatched = getattr(room, method)

        def begins(self: Any, *args: Any, **options: Any) -> Any:
            if "total_of_shares" not in stages:
                begun.append(room.__name__)
            return unwatched(self, *args, **options)

        monkeypatch.setattr(room, method, begins)

    watched(PendingLp, "__init__")
    watched(NeighbourhoodSearch, "search_neighbourhoods")
    stop = StopSignal(lambda: stages[-1:] == ["total_of_shares"])
    outcome = solve(real_trip(name), progress=lambda told: stages.append(told.stage), stop=stop)
    assert begun == ["PendingLp"] * lps
    assert outcome.stages[0].proved
    assert outcome.bound == pytest.approx(outcome.stages[0].best)
