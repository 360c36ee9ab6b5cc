"""What is proved, counted again: the LP's bound in exact fractions, and the best rota by another solver."""

from fractions import Fraction
from typing import Any

import pytest

from tests.core.rota.solver_cases import data_problem, real_trip
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search import lp_solve
from trips.core.rota.search.bound import ACCURACY, BranchAndBound
from trips.core.rota.search.lp_relaxation import LinearProgram, LpRelaxation
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.preprocess import preprocess
from trips.core.rota.search.solve import solve


def exact_bound(program: LinearProgram, duals: Any) -> Fraction:
    """Weak duality in fractions: any duals of the right sign bound the objective, whoever found them."""
    total = Fraction(0)
    reduced = [Fraction(value) for value in program.objective]
    signed = []
    for low, high, dual in zip(program.row_low, program.row_high, duals, strict=True):
        side = high if dual > 0 else low
        signed.append(Fraction(0) if side in (float("inf"), float("-inf")) else Fraction(float(dual)))
        total += signed[-1] * Fraction(side) if signed[-1] else 0
    for row, column, value in zip(program.entry_rows, program.entry_columns, program.entry_values, strict=True):
        reduced[column] -= Fraction(value) * signed[row]
    return total + sum(
        max(Fraction(0), left * Fraction(upper)) for left, upper in zip(reduced, program.upper, strict=True)
    )


@pytest.mark.parametrize("name", ["tiny-4x3x3-21", "tiny-5x3x2-21", "6x4x8-1"])
def test_the_linear_bound_holds_in_exact_fractions(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[LinearProgram, Any]] = []
    safe_bound = lp_solve.safe_bound

    def watched(program: LinearProgram, duals: Any) -> float:
        seen.append((program, duals))
        return safe_bound(program, duals)

    monkeypatch.setattr(lp_solve, "safe_bound", watched)
    problem = data_problem(name)
    told = lp_solve.solve_lp(LpRelaxation(preprocess(problem))).bound
    ((program, duals),) = seen
    exact = exact_bound(program, duals)
    assert exact <= Fraction(told) <= exact + Fraction(1, 10**6)
    assert Fraction(solve(problem, search_time=SearchTime.QUICK).worst_share) <= exact + Fraction(1, 10**6)


@pytest.mark.parametrize("name", ["four", "five", "joined_day"])
def test_a_real_trip_is_proved_at_once_and_another_solver_finds_nothing_better(name: str) -> None:
    problem = real_trip(name)
    outcome = solve(problem, search_time=SearchTime.QUICK)
    stage = next(stage for stage in outcome.stages if stage.name == "worst_share")
    assert stage.proved
    assert outcome.bound == pytest.approx(stage.best)
    relaxation = LpRelaxation(preprocess(problem))
    for above in (-0.001, 0.0001):
        branching = BranchAndBound.start(relaxation, 5_000, stage.best + above - ACCURACY)
        branching.wait(StopSignal())
        assert branching.rules_out == (above > 0)
