"""Run constraint models: by deterministic work, one worker each, and end early when asked to."""

from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Any

from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.space import Draft

_POLL_SECONDS = 0.05  # a stop is heard about as fast as a person notices; more often would take time from the solver


def _no_clock() -> float:
    return 0.0


@dataclass(slots=True)
class StopSignal:
    """Whether to end early: a cap in seconds, or because the person cancelled. Never steers the search.

    `clock`: seconds that only count up, from any moment. The caller hands it in, as the core reads no clock; without
    one all durations are 0 and no cap can be kept. Asked from the caller's own thread alone, so `cancel` may use a
    database connection. Raises ValueError for a cap without a clock.
    """

    cancel: Callable[[], bool] | None = None
    at_most_seconds: float | None = None
    clock: Callable[[], float] = _no_clock
    began: float = field(init=False)
    reached: bool = field(init=False, default=False)

    def __post_init__(self) -> None:
        """The run begins now."""
        if self.at_most_seconds is not None and self.clock is _no_clock:
            raise ValueError("a cap in seconds needs a clock")
        self.began = self.clock()

    def now(self) -> bool:
        """True once the run has to end; stays true."""
        if not self.reached:
            late = self.at_most_seconds is not None and self.seconds() >= self.at_most_seconds
            self.reached = late or (self.cancel is not None and self.cancel())
        return self.reached

    def waits_for(self, future: Future[Any]) -> bool:
        """Wait for what runs in another thread; False as soon as the run has to end."""
        while not future.done():
            if self.now():
                return False
            wait([future], _POLL_SECONDS)
        return True

    def left(self) -> float | None:
        """Seconds until the cap; None without one."""
        return None if self.at_most_seconds is None else max(0.0, self.at_most_seconds - self.seconds())

    def seconds(self) -> float:
        """Seconds since the run began."""
        return self.clock() - self.began


@dataclass(frozen=True, slots=True)
class Task:
    """A model to solve: with `work` deterministic seconds and a random seed of its own.

    `linear`: CP-SAT's linearization level: 2 puts the whole model into its LP and gives the best bounds; 1 puts in the
    linear constraints alone and finds plans faster. `hurried`: without presolve and relaxation, for a first solution
    of a small model at once.
    """

    model: RotaModel
    work: float
    seed: int
    stop_at_first: bool = False
    linear: int = 2
    hurried: bool = False


@dataclass(frozen=True, slots=True)
class TaskResult:
    """`status`: optimal, feasible, infeasible or unknown; `bound` of the objective; `work` in deterministic seconds."""

    status: str
    draft: Draft | None
    bound: float
    work: float


def solve_tasks(
    tasks: list[Task], stop: StopSignal, *, alike: bool = False, until: Callable[[], bool] | None = None
) -> list[TaskResult]:
    """Solve the tasks side by side (two at most) and give their results in order.

    `alike`: they ask the same, so none goes on once an earlier one has the answer, or any one that there is none. The
    others then say "unknown"; what they would have said cannot differ, so the outcome is the same every time. `until`:
    whether somebody else has proved the same.
    """
    solvers = [_solver(task) for task in tasks]
    if len(tasks) == 1 and stop.at_most_seconds is None and stop.cancel is None and until is None:
        return [_solve(tasks[0], solvers[0])]
    with ThreadPoolExecutor(2) as pool:
        running = [pool.submit(_solve, task, solver) for task, solver in zip(tasks, solvers, strict=True)]
        waiting: set[Future[TaskResult]] = set(running)
        while waiting := wait(waiting, _POLL_SECONDS, return_when=FIRST_COMPLETED).not_done:
            if stop.now() or (alike and _is_answered(running)) or (until is not None and until()):
                _stop_all(solvers)
        results = [future.result() for future in running]
    return _in_order(results) if alike else results


def _is_answered(running: list[Future[TaskResult]]) -> bool:
    """Whether a task has proved that there is no solution, or the first one has solved its model."""
    ended = [future.result().status if future.done() else "" for future in running]
    return "infeasible" in ended or ended[0] == "optimal"


def _in_order(results: list[TaskResult]) -> list[TaskResult]:
    """What does not hang on which task was quicker: the one that answers stands alone."""
    for result in results:
        if result.status == "infeasible":
            return [result]
    return results[:1] if results[0].status == "optimal" else results


def _stop_all(solvers: Iterable[Any]) -> None:
    """Stop each solver. Asked again at each poll, since a solver that has not begun yet forgets it."""
    for solver in solvers:
        solver.stop_search()


def _solver(task: Task) -> Any:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1  # several workers race by the clock, so their result would not be repeatable
    solver.parameters.max_deterministic_time = task.work
    solver.parameters.random_seed = task.seed % 2_000_000_000  # the parameter is a 32-bit whole number
    solver.parameters.linearization_level = 0 if task.hurried else task.linear
    solver.parameters.cp_model_presolve = not task.hurried
    solver.parameters.stop_after_first_solution = task.stop_at_first
    return solver


def _solve(task: Task, solver: Any) -> TaskResult:
    from ortools.sat.python import cp_model

    status = solver.solve(task.model.cp)
    names = {cp_model.OPTIMAL: "optimal", cp_model.FEASIBLE: "feasible", cp_model.INFEASIBLE: "infeasible"}
    name = names.get(status, "unknown")
    draft = task.model.read(solver.boolean_value) if name in ("optimal", "feasible") else None
    bound = solver.best_objective_bound if name in ("optimal", "feasible", "unknown") else 0.0
    return TaskResult(name, draft, bound, solver.response_proto.deterministic_time)
