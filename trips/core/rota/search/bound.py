"""A bound no rota can pass, from the relaxation's rows with whole turns: cuts, then branching for a number of nodes."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from trips.core.rota.model.cp_sat import Stop
from trips.core.rota.search.lp_relaxation import Relaxation

_ACCURACY = 1e-5  # of a share; ten times what the solver's own tolerances on rows and whole numbers allow


@dataclass(slots=True)
class WholeBound:
    """A branch and bound under way beside a search, in a thread of its own."""

    future: Future[float]

    @classmethod
    def start(cls, relaxation: Relaxation, nodes: int, stop: Stop, floor: float = 0.0) -> "WholeBound":
        """Begin; see whole_bound."""
        pool = ThreadPoolExecutor(1)
        future = pool.submit(whole_bound, relaxation, nodes, floor, stop.left())
        pool.shutdown(wait=False)
        return cls(future)

    def wait(self, stop: Stop) -> float | None:
        """The bound in shares; None where the run has to end before it is there."""
        while not self.future.done():
            if stop.now():
                return None
            stop.pause()
        return self.future.result()


def whole_bound(relaxation: Relaxation, nodes: int, floor: float = 0.0, seconds: float | None = None) -> float:
    """The worst share that no rota passes, in shares, proved by HiGHS within that many nodes.

    `floor`: only rotas with at least that worst share are looked for, which cuts off branches; the bound is never
    below it. `seconds`: a cap that only a capped run sets. The same arguments but for the cap give the same bound:
    one thread, no clock. Infinite where nothing is known.
    """
    from ortools.math_opt.python import mathopt
    from ortools.math_opt.solvers import highs_pb2

    options = highs_pb2.HighsOptionsProto()
    options.string_options["parallel"] = "off"
    options.int_options["threads"] = 1
    options.int_options["mip_pscost_minreliable"] = 2  # less trying out of branches than a search for plans would want
    options.double_options["mip_heuristic_effort"] = 0.0  # plans are found elsewhere
    for heuristic in ("rins", "rens", "root_reduced_cost"):
        options.bool_options[f"mip_heuristic_run_{heuristic}"] = False
    limit = None if seconds is None else timedelta(seconds=max(seconds, 0.01))
    parameters = mathopt.SolveParameters(node_limit=nodes, time_limit=limit, highs=options)
    answer = mathopt.solve(_model(relaxation, floor, mathopt), mathopt.SolverType.HIGHS, params=parameters)
    bound: float = answer.termination.objective_bounds.dual_bound
    return max(bound, floor) + _ACCURACY


def _model(relaxation: Relaxation, floor: float, mathopt: Any) -> Any:
    rows = relaxation.rows
    model = mathopt.Model()
    columns = [
        model.add_variable(lb=floor if goal else 0.0, ub=upper, is_integer=whole)
        for upper, whole, goal in zip(rows.upper, rows.whole, rows.objective, strict=True)
    ]
    terms: list[list[Any]] = [[] for _ in rows.row_low]
    for number, column, value in zip(rows.at, rows.columns, rows.values, strict=True):
        terms[number].append(value * columns[column])
    for low, high, row in zip(rows.row_low, rows.row_high, terms, strict=True):
        model.add_linear_constraint(lb=low, ub=high, expr=mathopt.fast_sum(row))
    goal = [value * column for value, column in zip(rows.objective, columns, strict=True) if value]
    model.maximize(mathopt.fast_sum(goal))
    return model
