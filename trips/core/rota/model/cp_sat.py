"""Run constraint models: by deterministic work, one worker each, and end early when asked to."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Any

from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.space import Draft

_POLL_SECONDS = 0.05


@dataclass(slots=True)
class Stop:
    """Whether to end early: a cap in seconds or somebody's wish. Never consulted to steer the search."""

    at_most_seconds: float | None = None
    cancel: Callable[[], bool] | None = None
    began: float = field(default_factory=time.monotonic)
    reached: bool = False

    def now(self) -> bool:
        """True once the run has to end; stays true."""
        if not self.reached:
            late = self.at_most_seconds is not None and self.seconds() >= self.at_most_seconds
            self.reached = late or (self.cancel is not None and self.cancel())
        return self.reached

    def pause(self) -> None:
        """Wait a moment for something that runs beside."""
        time.sleep(_POLL_SECONDS)

    def left(self) -> float | None:
        """Seconds until the cap; None without one."""
        return None if self.at_most_seconds is None else max(0.0, self.at_most_seconds - self.seconds())

    def seconds(self) -> float:
        """Seconds since the run began."""
        return time.monotonic() - self.began


@dataclass(frozen=True, slots=True)
class Task:
    """A model to solve: with `work` deterministic seconds and a seed of its own.

    `linear`: how much of the model the solver's linear relaxation holds, 0-2: 2 bounds best, 1 finds plans faster.
    """

    model: RotaModel
    work: float
    seed: int
    stop_at_first: bool = False
    linear: int = 2


@dataclass(frozen=True, slots=True)
class Found:
    """`status`: optimal, feasible, infeasible or unknown; `bound` of the goal; `work` done."""

    status: str
    draft: Draft | None
    bound: float
    work: float


def solve_tasks(tasks: list[Task], stop: Stop) -> list[Found]:
    """Solve the tasks side by side (two at most) and give their results in order."""
    solvers = [_solver(task) for task in tasks]
    if len(tasks) == 1 and stop.at_most_seconds is None and stop.cancel is None:
        return [_solve(tasks[0], solvers[0])]
    with ThreadPoolExecutor(2) as pool:
        running = [pool.submit(_solve, task, solver) for task, solver in zip(tasks, solvers, strict=True)]
        while wait(running, _POLL_SECONDS).not_done:
            if stop.now():
                for solver in solvers:
                    solver.stop_search()
        return [future.result() for future in running]


def _solver(task: Task) -> Any:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = task.work
    solver.parameters.random_seed = task.seed % 2_000_000_000
    solver.parameters.linearization_level = task.linear
    solver.parameters.stop_after_first_solution = task.stop_at_first
    return solver


def _solve(task: Task, solver: Any) -> Found:
    from ortools.sat.python import cp_model

    status = solver.solve(task.model.cp)
    names = {cp_model.OPTIMAL: "optimal", cp_model.FEASIBLE: "feasible", cp_model.INFEASIBLE: "infeasible"}
    name = names.get(status, "unknown")
    draft = task.model.read(solver.boolean_value) if name in ("optimal", "feasible") else None
    bound = solver.best_objective_bound if name in ("optimal", "feasible", "unknown") else 0.0
    return Found(name, draft, bound, solver.response_proto.deterministic_time)
