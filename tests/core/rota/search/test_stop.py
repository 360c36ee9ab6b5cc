"""A stop is heard in every stage: nothing long begins after it, and what runs is interrupted."""

import threading
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.core.rota.solver_cases import a_problem, data_problem
from trips.core.rota.check.checker import check
from trips.core.rota.check.tallies import tallies
from trips.core.rota.model import cp_sat
from trips.core.rota.model.cp_sat import StopSignal, Task, TaskResult
from trips.core.rota.model.space import Draft, Space, plan_from
from trips.core.rota.problem.shares import best_alone
from trips.core.rota.problem.values import NO_SEAT, Plan, Problem, ProblemHide, ProblemSeat, Turn
from trips.core.rota.search import solve as planner
from trips.core.rota.search.first_plan import first_draft
from trips.core.rota.search.local.local_search import LocalSearch, Penalty
from trips.core.rota.search.local.pair_meetings import Floors, PairTabuSearch
from trips.core.rota.search.lp_relaxation import LpRelaxation
from trips.core.rota.search.lp_solve import PendingLp, solve_lp
from trips.core.rota.search.neighbourhood_search import NeighbourhoodSearch
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.preprocess import preprocess
from trips.core.rota.search.repair import fewest_changes
from trips.core.rota.search.seats import seat_everybody
from trips.core.rota.search.solve import solve
from trips.core.rota.search.strategies import raise_total

A_LITTLE = 1.0  # deterministic seconds begun after the stop, in all


@dataclass
class At:
    """True from the n-th question on."""

    number: int
    asked: int = 0
    threads: set[int] = field(default_factory=set)

    def __call__(self) -> bool:
        self.asked += 1
        self.threads.add(threading.get_ident())
        return self.heard

    @property
    def heard(self) -> bool:
        return self.asked >= self.number


@dataclass
class Begun:
    """The tasks that begin once `cancel` is true."""

    cancel: At = field(default_factory=lambda: At(1))
    tasks: list[Task] = field(default_factory=list)
    work: float = 0.0


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> Begun:
    found, solve_task = Begun(), cp_sat._solve

    def watched(task: Task, solver: Any) -> TaskResult:
        late = found.cancel.heard
        result = solve_task(task, solver)
        if late:
            found.tasks.append(task)
            found.work += result.work
        return result

    monkeypatch.setattr(cp_sat, "_solve", watched)
    return found


@cache
def middle() -> tuple[Space, Draft]:
    """Sixteen people, eight hides and fourteen sessions, with a first draft."""
    space = preprocess(data_problem("16x8x14-1"))
    draft = first_draft(space, 0, 10.0, StopSignal()).draft
    assert draft is not None
    return space, draft


def searching(space: Space, draft: Draft, cancel: Callable[[], bool]) -> NeighbourhoodSearch:
    return NeighbourhoodSearch(space, draft, 0, StopSignal(cancel), lambda _: None)


@pytest.mark.parametrize("number", [1, 5, 20, 60])
def test_hardly_any_work_begins_after_a_stop_whenever_it_comes(begun: Begun, number: int) -> None:
    problem = replace(data_problem("12x6x12-1"), want_mixing=True)
    begun.cancel = At(number)
    outcome = solve(problem, stop=StopSignal(begun.cancel))
    assert outcome.status == "stopped_early"
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert begun.work < A_LITTLE
    assert begun.cancel.threads == {threading.get_ident()}  # it may use a database connection


def test_a_first_plan_ends_in_a_hurry_and_is_sound(begun: Begun) -> None:
    problem = data_problem("16x8x14-1")
    assert begun.cancel()
    first = first_draft(preprocess(problem), 0, 10.0, StopSignal(begun.cancel))
    assert first.draft is not None
    assert all(task.stop_at_first and task.hurried for task in begun.tasks if not task.model.whole)
    assert begun.work < A_LITTLE


@pytest.mark.parametrize("floor", [None, 0.5])
def test_the_simplex_method_is_interrupted_and_leaves_no_thread_at_work(floor: float | None) -> None:
    relaxation = LpRelaxation(preprocess(data_problem("24x12x20-1")), floor)
    pending = PendingLp(lambda: relaxation)
    assert pending.wait(StopSignal(At(2))).status == "unknown"
    assert pending.future.done()
    assert pending.future.result().status == "unknown"


def test_watching_the_simplex_method_changes_nothing() -> None:
    relaxation = LpRelaxation(preprocess(data_problem("8x5x10-1")))
    assert solve_lp(relaxation, StopSignal(lambda: False)) == solve_lp(relaxation) == solve_lp(relaxation)


def test_raising_the_total_ends_with_its_relaxation(begun: Begun) -> None:
    space, draft = middle()
    search = searching(space, draft, begun.cancel)
    raise_total(search, 10.0, 0)
    assert begun.tasks == []
    assert search.draft == draft


def test_a_descent_ends_between_two_sessions() -> None:
    space, draft = middle()
    whole, ended = (LocalSearch(space, draft, Penalty(1.0, np.ones(space.people))) for _ in range(2))
    whole.descend(60, lambda: False)
    ended.descend(60, At(4))
    moved = {int(session) for session in np.nonzero((ended.cells != np.array(draft.cells)).any(axis=0))[0]}
    assert moved <= {0, 1, 2}
    people = np.array(space.counted)
    assert whole.penalty.cost(people, whole.share[people]).sum() < ended.penalty.cost(people, ended.share[people]).sum()


def test_a_tabu_search_ends_between_two_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    space, draft = middle()
    steps: list[object] = []
    take = PairTabuSearch._take

    def counted(self: PairTabuSearch, step: Any, turn: int) -> None:
        steps.append(step)
        take(self, step, turn)

    monkeypatch.setattr(PairTabuSearch, "_take", counted)
    PairTabuSearch(space, draft, Floors(-(10**9), -(10**12)), 0).search(500, 10**6, lambda _: False, At(4))
    assert len(steps) == 3


STAGES = ("without_turn", "draw", "worst_share", "total_of_shares", "next_worst", "pairs_met")


@pytest.mark.parametrize("stage", STAGES)
def test_each_stage_ends_once_a_stop_comes(begun: Begun, monkeypatch: pytest.MonkeyPatch, stage: str) -> None:
    """The stop comes at the first question of that stage, or after it; no further stage begins."""
    problem = replace(data_problem("6x4x8-1"), in_demand=(0,), want_mixing=True)
    begun.cancel = At(10**9)
    stages: list[str] = []
    run_stage = planner._run_stage

    def watched(run: Any, search: NeighbourhoodSearch, one: Any) -> Any:
        stages.append(one.wish.name)
        if one.wish.name == stage:
            begun.cancel = At(1)
        return run_stage(run, search, one)

    monkeypatch.setattr(planner, "_run_stage", watched)
    outcome = solve(problem, search_time=SearchTime.QUICK, stop=StopSignal(lambda: begun.cancel()))
    assert stages[-1] == stage
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert begun.work < A_LITTLE
    assert outcome.status == "stopped_early"


def test_a_repair_counts_no_further_session_after_a_stop(begun: Begun) -> None:
    free, planned = middle()
    issued, problem = plan_from(free, planned, defaultdict(lambda: NO_SEAT)), free.problem
    closed = problem.closed | {(session, 0) for session in range(free.sessions)}
    space = preprocess(replace(problem, issued=issued, closed=closed, best_alone=best_alone(problem), repair="fewest"))
    draft = first_draft(space, 0, 10.0, StopSignal()).draft
    assert draft is not None
    assert begun.cancel()
    fewest_changes(searching(space, draft, begun.cancel), 1.0)
    assert begun.tasks == []


def poor_seats_issued() -> tuple[Problem, Plan]:
    """Two people in three seats of one hide; whoever plans anew takes the good ones."""
    seats = (ProblemSeat("good", 5), ProblemSeat("fair", 3), ProblemSeat("poor", 1))
    issued = Plan(tuple(Turn(person, session, 0, 1 + person) for session in range(4) for person in range(2)))
    base = replace(a_problem(2, 4, (3,)), hides=(ProblemHide("H", seats),))
    return replace(base, issued=issued, repair="fewest", best_alone=best_alone(base)), issued


def test_a_stopped_repair_moves_nobody_from_the_issued_seat(begun: Begun) -> None:
    problem, issued = poor_seats_issued()
    outcome = solve(problem, stop=StopSignal(begun.cancel))
    assert outcome.status == "stopped_early"
    assert outcome.plan is not None
    assert tallies(problem, outcome.plan).seat_changes == ()
    assert set(outcome.plan.turns) == set(issued.turns)


def test_seats_are_taken_in_a_hurry(begun: Begun) -> None:
    space, draft = middle()
    assert begun.cancel()
    seats = seat_everybody(space, draft, 0, StopSignal(begun.cancel))
    assert seats is not None
    assert [task.stop_at_first for task in begun.tasks] == [True]
    assert begun.work < A_LITTLE / 5


def test_a_cap_needs_a_clock_and_without_one_no_time_passes() -> None:
    with pytest.raises(ValueError, match="clock"):
        StopSignal(at_most_seconds=1.0)
    assert StopSignal().seconds() == 0.0
    times = iter((10.0, 10.5, 12.0, 12.0))
    stop = StopSignal(at_most_seconds=2.0, clock=lambda: next(times))
    assert not stop.now()
    assert stop.now()
