"""Branch and bound on the LP relaxation with whole turns: it lowers the bound, finds or rules out what is better."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search.lp_relaxation import LinearProgram, LpRelaxation, Triple

ACCURACY = 1e-5  # of a share; ten times what the solver's own tolerances on rows and whole numbers allow
_GAP = 2e-5  # of a share: nobody sees it, and to search below it takes up to half as many nodes again
_INFINITY = float("inf")
_FEASIBLE = 2  # HiGHS' word for it
_HALF = 0.5  # whole turns are 0 or 1 but for the solver's tolerance
_BOUNDING = (  # plans are found elsewhere
    ("mip_heuristic_effort", 0.0),
    ("mip_heuristic_run_rins", False),
    ("mip_heuristic_run_rens", False),
    ("mip_heuristic_run_root_reduced_cost", False),
)


def _finding(summed: int) -> tuple[tuple[str, float | bool], ...]:
    """Three times the usual work for heuristics; a restart of the search costs more than it saves."""
    return (
        ("mip_heuristic_effort", 0.15),
        ("mip_allow_restart", False),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", _GAP * summed),
    )


@dataclass(slots=True)
class BranchAndBound:
    """A branch and bound by HiGHS, under way in a thread of its own.

    `future`: the upper bound of the relaxation's objective (shares) once its nodes are done. `floor`: only rotas with
    at least that objective are looked for, which cuts off branches. The same relaxation, nodes and floor give the same
    bound: one thread, no clock.
    """

    relaxation: LpRelaxation
    solver: Any
    floor: float
    accuracy: float
    future: Future[float]

    @classmethod
    def start(
        cls, relaxation: LpRelaxation, nodes: int, floor: float = 0.0, *, finds: bool = False
    ) -> "BranchAndBound":
        """Begin. `finds`: it looks for rotas too, with heuristics of its own."""
        solver, pool = _solver(relaxation.program, nodes, floor), ThreadPoolExecutor(1)
        for option, value in _finding(relaxation.summed) if finds else _BOUNDING:
            solver.setOptionValue(option, value)
        accuracy = ACCURACY * relaxation.summed
        future = pool.submit(_run, solver, floor, accuracy)
        pool.shutdown(wait=False)
        return cls(relaxation, solver, floor, accuracy, future)

    @property
    def rules_out(self) -> bool:
        """Whether it has ended and no rota reaches the floor, but for the accuracy."""
        return self.future.done() and self.future.result() <= self.floor + self.accuracy

    def turns(self) -> set[Triple]:
        """The turns of the best rota found, once it has ended; none where it found nothing."""
        if self.solver.getInfo().primal_solution_status != _FEASIBLE:
            return set()
        values = self.solver.getSolution().col_value
        return {turn for turn, column in self.relaxation.turns.items() if values[column] > _HALF}

    def wait(self, stop: StopSignal) -> float | None:
        """The bound; None where the run has to end before it is there, and then the solver has ended too."""
        if stop.waits_for(self.future):
            return self.future.result()
        self.interrupt()
        return None

    def interrupt(self) -> None:
        """End the solver, which asks between two nodes and between two steps of the simplex method."""
        self.solver.cancelSolve()
        self.future.result()


def _run(solver: Any, floor: float, accuracy: float) -> float:
    import highspy

    solver.run()
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return floor + accuracy
    bound: float = solver.getInfo().mip_dual_bound
    return max(bound, floor) + accuracy


def _solver(program: LinearProgram, nodes: int, floor: float) -> Any:
    import highspy

    solver = highspy.Highs()
    for option, value in (
        ("output_flag", False),
        ("parallel", "off"),  # the other core searches
        ("threads", 1),
        ("mip_max_nodes", nodes),
        ("mip_pscost_minreliable", 2),  # less strong branching: nodes are few, and each trial costs LPs
    ):
        solver.setOptionValue(option, value)
    solver.HandleUserInterrupt = True
    solver.passModel(_model(program, floor))
    return solver


def _model(program: LinearProgram, floor: float) -> Any:
    """The linear program with its whole numbers, and a row that keeps the objective at the floor or above."""
    import highspy

    goal = {column: value for column, value in enumerate(program.objective) if value}
    rows: list[dict[int, float]] = [{} for _ in program.row_low]
    for number, column, value in zip(program.entry_rows, program.entry_columns, program.entry_values, strict=True):
        rows[number][column] = rows[number].get(column, 0.0) + value  # people always together share a column
    rows.append(goal)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(program.upper), len(rows)
    model.sense_ = highspy.ObjSense.kMaximize
    model.col_cost_, model.col_upper_ = np.array(program.objective), np.array(program.upper)
    model.col_lower_ = np.zeros(len(program.upper))
    model.row_lower_, model.row_upper_ = np.array([*program.row_low, floor]), np.array([*program.row_high, _INFINITY])
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.cumsum([0, *(len(row) for row in rows)])
    model.a_matrix_.index_ = np.array([column for row in rows for column in row])
    model.a_matrix_.value_ = np.array([value for row in rows for value in row.values()])
    kinds = highspy.HighsVarType
    model.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in program.whole]
    return model
