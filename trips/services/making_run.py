"""One run of the planner, in a worker or a command: signs of life while it runs, a draft at its end."""

from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from importlib.metadata import version
from threading import Event, Thread
from time import monotonic
from types import TracebackType
from typing import Any, Self
from uuid import UUID

from django.db import DatabaseError, OperationalError, connections, transaction
from django.db.models import F
from django.utils import timezone

from trips.assemble.remedies import remedies_data
from trips.assemble.repairs import repair_at
from trips.assemble.rota import RepairFrom, RotaInputs, rota_inputs
from trips.assemble.rota_result import Made
from trips.assemble.trip import trip_values
from trips.assemble.why_cannot_sit import trip_names
from trips.core.rota.explain.conflicts import Explanation
from trips.core.rota.explain.counting import count_conflicts
from trips.core.rota.explain.explain import explain
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search.outcome import IMPOSSIBLE, STOPPED_EARLY, Outcome, Progress, SearchTime
from trips.core.rota.search.solve import solve
from trips.documents.wording.rota_names import RotaNames
from trips.documents.wording.rota_reasons import refusal_sentences
from trips.documents.wording.rota_refusals import inputs_gone_sentence
from trips.models import Making, MakingState, RotaState
from trips.selectors.making import run_in_turn
from trips.services.busy import is_busy, patiently
from trips.services.rota import rota_save
from trips.services.rota_rows import InputsGone

BEAT_EVERY_S = 1.0  # a page that looks every two seconds sees each step, and writers are not held up
PULSE_EVERY_S = 2.0  # while the planner is silent
MOST_STEPS = 200  # of the progress that a run keeps: more than a drawing can show; then every other one goes
ENDED_WELL = {"optimal": MakingState.FINISHED, "feasible": MakingState.FINISHED, "stopped_early": MakingState.STOPPED}


def making_run(*, making_uuid: UUID | str, at_most_seconds: float | None = None) -> Making:
    """Run the planner for a waiting run; anything else is handed back as it is.

    One that was given up meanwhile, its worker silent for too long, ends without writing anything.
    """
    if not _is_claimed(making_uuid):
        return Making.objects.get(uuid=making_uuid)
    return _run(making_uuid, at_most_seconds)


def making_run_in_turn(brought_by: UUID | str) -> str:
    """Run the planner for the run whose turn it is; the state in which it ended, "" where none may begin now.

    `brought_by`: the run whose task this is; it goes first where it is nobody's, since nobody's have no turn.
    """
    if Making.objects.filter(uuid=brought_by, started_by__isnull=True).exists() and _is_claimed(brought_by):
        return _run(brought_by, None).state
    while (chosen := run_in_turn(timezone.now())) is not None:
        if _is_claimed(chosen):
            return _run(chosen, None).state
    return ""


def _is_claimed(making_uuid: UUID | str) -> bool:
    """Whether the run waited, and is under way for this process from now on."""
    waiting = Making.objects.filter(uuid=making_uuid, state=MakingState.WAITING)
    begun = {"state": MakingState.RUNNING, "heartbeat_at": timezone.now()}
    return bool(waiting.update(version=F("version") + 1, **begun))


def _run(making_uuid: UUID | str, at_most_seconds: float | None) -> Making:
    making = Making.objects.select_related("trip__leader", "trip__rules", "started_by").get(uuid=making_uuid)
    try:
        with Pulse(making):
            _plan(making, at_most_seconds)
    except InputsGone as changed:
        _end(making, MakingState.TRIP_CHANGED, explanation={"leader": [inputs_gone_sentence(changed.gone)]})
    except BaseException as broken:
        state = MakingState.NOT_FINISHED if isinstance(broken, KeyboardInterrupt | SystemExit) else MakingState.FAILED
        _end(making, state, explanation={"error": type(broken).__name__})
        raise
    making.refresh_from_db()
    return making


def _plan(making: Making, at_most_seconds: float | None) -> None:
    read_at = timezone.now()
    inputs, repair = making_inputs(making, read_at)
    if count_conflicts(inputs.problem):
        _end_impossible(making, inputs)
        return
    beat = _Beat(making)
    outcome = solve(
        inputs.problem,
        seed=making.seed,
        search_time=SearchTime(making.search_time),
        progress=beat.progress,
        stop=StopSignal(beat.is_cancelled, at_most_seconds, monotonic),
    )
    if outcome.plan is not None:
        beat.note(outcome.worst_share, outcome.bound)
        patiently(lambda: _keep(beat, inputs, outcome, repair, read_at))
    elif outcome.status == IMPOSSIBLE:
        _end_impossible(making, inputs)
    else:
        is_stopped = outcome.status == STOPPED_EARLY and beat.was_cancelled
        _end(making, MakingState.STOPPED if is_stopped else MakingState.NOTHING_FOUND)


def making_inputs(making: Making, now: datetime) -> tuple[RotaInputs, RepairFrom | None]:
    """The problem of a run: the whole trip, or the rest of it after what has begun or left. Raises InputsGone."""
    values = trip_values(making.trip)
    gone = ["everybody"] * (not values.place_rows) + ["every session"] * (not values.session_rows)
    issued = making.trip.rotas.filter(state=RotaState.ISSUED).first() if making.repair else None
    if making.repair and issued is None:
        gone.append("the issued rota")
    if gone:
        raise InputsGone(gone=tuple(gone))
    if issued is None:
        return rota_inputs(values, now=now), None
    rows = [row.pk for row in values.session_rows]
    first = rows.index(making.from_session_id) if making.from_session_id in rows else 0
    repair = repair_at(issued, values, now=now, kind=making.repair, first=first)
    repair = replace(repair, aim=making.towards)
    return rota_inputs(values, repair=repair, now=now), repair


@dataclass
class _Beat:
    """Tells the database that the worker lives and how far it is, and hears whether to stop; at most once a second.

    A run that was given up is told to stop as well: its plan is not wanted any more.
    """

    making: Making
    last_s: float = float("-inf")
    was_cancelled: bool = False
    known: Progress | None = None
    began_s: float = field(default_factory=monotonic)
    so_far: list[list[float]] = field(default_factory=list)

    def progress(self, progress: Progress) -> None:
        """The planner's sign of life."""
        self.known = progress
        self.note(progress.worst_share, progress.bound)
        self._beat()

    def note(self, worst_share: float, bound: float) -> None:
        """Keep a step of the progress, where there is one."""
        step = [round(monotonic() - self.began_s, 1), round(worst_share, 4), round(bound, 4)]
        if not self.so_far or step[1:] != self.so_far[-1][1:]:
            self.so_far.append(step)
        if len(self.so_far) > MOST_STEPS:
            self.so_far = [*self.so_far[:-1:2], step]

    def is_cancelled(self) -> bool:
        """Whether somebody asked the run to stop."""
        self._beat()
        return self.was_cancelled

    def _beat(self) -> None:
        if monotonic() - self.last_s < BEAT_EVERY_S:
            return
        self.last_s = monotonic()
        row = Making.objects.filter(pk=self.making.pk, state=MakingState.RUNNING)
        known: dict[str, Any] = {}
        if self.known is not None:
            known = {"stage": self.known.stage, "best": self.known.worst_share, "bound": self.known.bound}
            known["progress"] = self.so_far
        try:
            is_wanted = row.update(heartbeat_at=timezone.now(), version=F("version") + 1, **known)
        except OperationalError as error:
            if not is_busy(error):
                raise
            return  # who writes now is not asked to wait for a sign of life: the next one says as much
        self.was_cancelled = not is_wanted or row.filter(cancel=True).exists()


@transaction.atomic
def _keep(beat: _Beat, inputs: RotaInputs, outcome: Outcome, repair: RepairFrom | None, read_at: datetime) -> None:
    """Save the plan as a draft, unless the run was given up. Raises InputsGone."""
    making, known = beat.making, {"best": outcome.worst_share, "bound": outcome.bound, "progress": beat.so_far}
    if outcome.plan is None or not _end_now(making, ENDED_WELL[outcome.status], **known):
        return
    making.refresh_from_db(fields=["started_by"])
    made = Made(
        status=outcome.status,
        bound=outcome.bound,
        stages=tuple(asdict(stage) for stage in outcome.stages),
        seed=making.seed,
        search_time=making.search_time,
        trades=outcome.trades,
        seconds=outcome.seconds,
        solver_version=solver_version(),
    )
    rota = rota_save(inputs=inputs, plan=outcome.plan, made=made, by=making.started_by, now=read_at, repair=repair)
    Making.objects.filter(pk=making.pk).update(rota=rota)


def _end_impossible(making: Making, inputs: RotaInputs) -> None:
    explanation, names = explain(inputs.problem), trip_names(inputs)
    data = explanation_data(explanation, names) | {"remedies": remedies_data(explanation, inputs, names)}
    _end(making, MakingState.IMPOSSIBLE, explanation=data)


def explanation_data(explanation: Explanation, names: RotaNames) -> dict[str, Any]:
    """An explanation as a run keeps it: for leaders, and for everybody else."""
    return {
        "verdict": explanation.verdict,
        "leader": refusal_sentences(explanation, names),
        "public": refusal_sentences(explanation, names, for_leader=False),
    }


def _end(making: Making, state: str, **fields: Any) -> bool:
    """Whether the run was still under way; one that was given up stays as it is."""
    return patiently(lambda: _end_now(making, state, **fields))


def _end_now(making: Making, state: str, **fields: Any) -> bool:
    running = Making.objects.filter(pk=making.pk, state=MakingState.RUNNING)
    return bool(running.update(state=state, ended_at=timezone.now(), version=F("version") + 1, **fields))


def solver_version() -> str:
    """What planned: the versions that decide the bytes of a rota."""
    return f"ortools {version('ortools')}, numpy {version('numpy')}"


class Pulse:
    """While it is entered, the run's row says at least every `every_s` seconds that its worker lives.

    A run that gave a sign itself meanwhile is left alone, and so is one that is no longer under way. A database that
    is busy is asked again the next time.
    """

    def __init__(self, making: Making, every_s: float = PULSE_EVERY_S) -> None:
        self._pk, self._every_s = making.pk, every_s
        self._ended = Event()
        self._thread = Thread(target=self._beat, name=f"pulse of run {making.pk}", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._ended.set()
        self._thread.join()

    def _beat(self) -> None:
        while not self._ended.wait(self._every_s):
            now = timezone.now()
            silent = now - timedelta(seconds=self._every_s)
            try:
                rows = Making.objects.filter(pk=self._pk, state=MakingState.RUNNING, heartbeat_at__lte=silent)
                rows.update(heartbeat_at=now, version=F("version") + 1)
            except DatabaseError:
                continue
            finally:
                connections.close_all()  # this thread's own; none stays open between two signs
