"""Solve the LP relaxation: an upper bound, fractional turns to seed the search, reduced costs and duals to steer it."""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from math import fsum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search.lp_relaxation import LinearProgram, LpRelaxation, Triple

_INFINITY = float("inf")
_LEAST_PART = 1e-9  # of a turn; less is the simplex method's rounding
_ROUNDING = 1e-9  # of a share, above the error of some ten thousand products summed exactly
_POLL_SECONDS = 0.05  # between two interrupts of a solver that may not have begun


@dataclass(frozen=True, slots=True)
class LpSolution:
    """`status`: optimal, infeasible (no rota exists) or unknown; `bound`: no rota's objective is higher, in shares.

    `lp_values[person, session, hide]`: that turn's part, 0-1. `reduced_costs[...]`: what a whole turn there would cost
    the objective. `duals[person]`: what the objective gains when that person may have a little less.
    """

    status: str
    bound: float = _INFINITY
    lp_values: dict[Triple, float] = field(default_factory=dict)
    reduced_costs: dict[Triple, float] = field(default_factory=dict)
    duals: tuple[float, ...] = ()


class PendingLp:
    """An LP relaxation under way in a thread of its own. `build` makes it there, so that nobody waits for that."""

    def __init__(self, build: Callable[[], LpRelaxation]) -> None:
        self._solver: Any = None
        pool = ThreadPoolExecutor(1)
        self.future: Future[LpSolution] = pool.submit(self._run, build)
        pool.shutdown(wait=False)

    def _run(self, build: Callable[[], LpRelaxation]) -> LpSolution:
        from ortools.linear_solver.python import model_builder_helper as linear

        relaxation = build()
        model = _linear_model(relaxation.program, linear)
        self._solver = linear.ModelSolverHelper("GLOP")
        self._solver.solve(model)
        return _solution(relaxation, self._solver, linear)

    def wait(self, stop: StopSignal) -> LpSolution:
        """The solution; unknown where the run has to end first, and then the solver has ended too."""
        if stop.waits_for(self.future):
            return self.future.result()
        self.interrupt()
        return LpSolution("unknown")

    def interrupt(self) -> None:
        """End the solver. Asked until it ends, since a solver that has not begun yet forgets it."""
        while not self.future.done():
            if self._solver is not None:
                self._solver.interrupt_solve()
            wait([self.future], _POLL_SECONDS)


def solve_lp(relaxation: LpRelaxation, stop: StopSignal | None = None) -> LpSolution:
    """The optimum by the simplex method; unknown where `stop` comes first."""
    return PendingLp(lambda: relaxation).wait(stop or StopSignal())


def _linear_model(program: LinearProgram, linear: Any) -> Any:
    model = linear.ModelBuilderHelper()
    for column, (upper, objective) in enumerate(zip(program.upper, program.objective, strict=True)):
        model.add_var()
        model.set_var_lower_bound(column, 0.0)
        model.set_var_upper_bound(column, upper)
        model.set_var_objective_coefficient(column, objective)
    for number, (low, high) in enumerate(zip(program.row_low, program.row_high, strict=True)):
        model.add_linear_constraint()
        model.set_constraint_lower_bound(number, low)
        model.set_constraint_upper_bound(number, high)
    for number, column, value in zip(program.entry_rows, program.entry_columns, program.entry_values, strict=True):
        model.safe_add_term_to_constraint(number, column, value)
    model.set_maximize(True)
    return model


def _solution(relaxation: LpRelaxation, solver: Any, linear: Any) -> LpSolution:
    status = solver.status()
    if status == linear.SolveStatus.INFEASIBLE:
        return LpSolution("infeasible")
    if status != linear.SolveStatus.OPTIMAL:
        return LpSolution("unknown")
    values, row_duals = np.asarray(solver.variable_values()), np.asarray(solver.dual_values())
    reduced, turns = np.asarray(solver.reduced_costs()), relaxation.turns
    duals = [0.0] * relaxation.space.people
    for person, row in relaxation.share_rows.items():
        duals[person] = abs(float(row_duals[row]))
    return LpSolution(
        "optimal",
        safe_bound(relaxation.program, row_duals),
        {turn: float(values[column]) for turn, column in turns.items() if values[column] > _LEAST_PART},
        {turn: abs(float(reduced[column])) for turn, column in turns.items()},
        tuple(duals),
    )


def safe_bound(program: LinearProgram, duals: NDArray[np.float64]) -> float:
    """A bound that holds whatever the solver's accuracy: weak duality with every variable in its box.

    Neumaier & Shcherbina (2004), Safe bounds in linear and mixed-integer linear programming, eq. 2.
    """
    low, high = np.array(program.row_low), np.array(program.row_high)
    duals = np.where((duals < 0) & np.isinf(low), 0.0, duals)
    duals = np.where((duals > 0) & np.isinf(high), 0.0, duals)
    sides = np.where(duals > 0, high, np.where(duals < 0, low, 0.0))
    weighted = np.array(program.entry_values) * duals[np.array(program.entry_rows, dtype=int)]
    taken = np.bincount(np.array(program.entry_columns, dtype=int), weighted, minlength=len(program.upper))
    reduced = np.array(program.objective) - taken
    return fsum(duals * sides) + fsum(np.maximum(reduced * np.array(program.upper), 0.0)) + _ROUNDING
