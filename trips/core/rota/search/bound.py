"""Branch-and-bound bound: the LP relaxation with whole turns, cuts first, then a limited number of nodes."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search.lp_relaxation import LpRelaxation

_ACCURACY = 1e-5  # of a share; ten times what the solver's own tolerances on rows and whole numbers allow


@dataclass(slots=True)
class BranchAndBound:
    """A branch and bound under way beside a search, in a thread of its own."""

    future: Future[float]

    @classmethod
    def start(cls, relaxation: LpRelaxation, nodes: int, stop: StopSignal, floor: float = 0.0) -> "BranchAndBound":
        """Begin; see branch_and_bound."""
        pool = ThreadPoolExecutor(1)
        future = pool.submit(branch_and_bound, relaxation, nodes, floor, stop.left())
        pool.shutdown(wait=False)
        return cls(future)

    def wait(self, stop: StopSignal) -> float | None:
        """The bound in shares; None where the run has to end before it is there.

        A cancelled run does not wait: MathOpt cannot interrupt HiGHS, so the thread ends with its nodes.
        """
        return self.future.result() if stop.waits_for(self.future) else None


def branch_and_bound(relaxation: LpRelaxation, nodes: int, floor: float = 0.0, seconds: float | None = None) -> float:
    """Upper bound of the worst share, in shares, proved by HiGHS within that many nodes.

    `floor`: only rotas with at least that worst share are looked for, which cuts off branches; the bound is never
    below it. `seconds`: a cap that only a capped run sets. The same arguments but for the cap give the same bound:
    one thread, no clock. Infinite where nothing is known.
    """
    from ortools.math_opt.python import mathopt
    from ortools.math_opt.solvers import highs_pb2

    options = highs_pb2.HighsOptionsProto()
    options.string_options["parallel"] = "off"  # the other core searches
    options.int_options["threads"] = 1
    options.int_options["mip_pscost_minreliable"] = 2  # less strong branching: nodes are few, and each trial costs LPs
    options.double_options["mip_heuristic_effort"] = 0.0  # plans are found elsewhere
    for heuristic in ("rins", "rens", "root_reduced_cost"):
        options.bool_options[f"mip_heuristic_run_{heuristic}"] = False
    limit = None if seconds is None else timedelta(seconds=max(seconds, 0.01))  # a limit of 0 would mean none
    parameters = mathopt.SolveParameters(node_limit=nodes, time_limit=limit, highs=options)
    answer = mathopt.solve(_model(relaxation, floor, mathopt), mathopt.SolverType.HIGHS, params=parameters)
    bound: float = answer.termination.objective_bounds.dual_bound
    return max(bound, floor) + _ACCURACY


def _model(relaxation: LpRelaxation, floor: float, mathopt: Any) -> Any:
    program = relaxation.program
    model = mathopt.Model()
    columns = [
        model.add_variable(lb=floor if goal else 0.0, ub=upper, is_integer=whole)
        for upper, whole, goal in zip(program.upper, program.whole, program.objective, strict=True)
    ]
    terms: list[list[Any]] = [[] for _ in program.row_low]
    for number, column, value in zip(program.entry_rows, program.entry_columns, program.entry_values, strict=True):
        terms[number].append(value * columns[column])
    for low, high, row in zip(program.row_low, program.row_high, terms, strict=True):
        model.add_linear_constraint(lb=low, ub=high, expr=mathopt.fast_sum(row))
    goal = [value * column for value, column in zip(program.objective, columns, strict=True) if value]
    model.maximize(mathopt.fast_sum(goal))
    return model
