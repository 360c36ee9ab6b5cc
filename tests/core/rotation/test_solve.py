"""The planner against full comparison: the small problems in data/, whose optimum was found by brute force."""

import json
from pathlib import Path

import pytest

from trips.core.checker import check
from trips.core.rotation.problem_file import read_problem
from trips.core.rotation.solve import solve

DATA = Path(__file__).parent / "data"


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
