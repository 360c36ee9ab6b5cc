"""One run of the planner, in a worker or a command: signs of life while it runs, a draft at its end."""

from dataclasses import asdict, dataclass
from datetime import datetime
from importlib.metadata import version
from time import monotonic
from typing import Any
from uuid import UUID

from django.db import OperationalError
from django.db.models import F
from django.utils import timezone

from trips.assemble.barred import trip_names
from trips.assemble.remedies import remedies_data
from trips.assemble.repairs import repair_at
from trips.assemble.rota import RepairFrom, RotaInputs, rota_inputs
from trips.assemble.rota_result import Made
from trips.assemble.trip import trip_values
from trips.core.rota.explain.conflicts import Explanation
from trips.core.rota.explain.counting import count_conflicts
from trips.core.rota.explain.explain import explain
from trips.core.rota.model.cp_sat import Stop
from trips.core.rota.search.outcome import IMPOSSIBLE, STOPPED_EARLY, Outcome, Progress
from trips.core.rota.search.solve import solve
from trips.documents.wording.rota_names import RotaNames
from trips.documents.wording.rota_reasons import refusal_sentences
from trips.models import Making
from trips.services.busy import is_busy, patiently
from trips.services.making_pulse import Pulse
from trips.services.rota import rota_save

BEAT_EVERY_S = 1.0
ENDED_WELL = {"optimal": "finished", "feasible": "finished", "stopped_early": "stopped"}


def making_run(*, making_uuid: UUID | str, at_most_seconds: float | None = None) -> Making:
    """Run the planner for a waiting run; anything else is handed back as it is."""
    now = timezone.now()
    claimed = Making.objects.filter(uuid=making_uuid, state="waiting")
    is_ours = claimed.update(state="running", heartbeat_at=now, version=F("version") + 1)
    making = Making.objects.select_related("trip__leader", "trip__rules", "started_by").get(uuid=making_uuid)
    if not is_ours:
        return making
    try:
        with Pulse(making):
            _plan(making, at_most_seconds)
    except BaseException as broken:
        state = "not_finished" if isinstance(broken, KeyboardInterrupt | SystemExit) else "failed"
        _end(making, state, explanation={"error": type(broken).__name__})
        raise
    making.refresh_from_db()
    return making


def _plan(making: Making, at_most_seconds: float | None) -> None:
    inputs, repair = making_inputs(making)
    if count_conflicts(inputs.problem):
        _end_impossible(making, inputs)
        return
    beat = _Beat(making)
    outcome = solve(
        inputs.problem,
        seed=making.seed,
        effort=making.effort,
        progress=beat.progress,
        stop=Stop(beat.is_cancelled, at_most_seconds, monotonic),
    )
    if outcome.plan is not None:
        _keep(making, inputs, outcome, repair)
    elif outcome.status == IMPOSSIBLE:
        _end_impossible(making, inputs)
    else:
        _end(making, "stopped" if outcome.status == STOPPED_EARLY and beat.was_cancelled else "nothing_found")


def making_inputs(making: Making) -> tuple[RotaInputs, RepairFrom | None]:
    """The problem of a run: the whole trip, or the rest of it after what has begun or left."""
    values, now = trip_values(making.trip), timezone.now()
    if not making.repair:
        return rota_inputs(values, now=now), None
    issued = making.trip.rotas.get(state="issued")
    rows = [row.pk for row in values.session_rows]
    first = rows.index(making.from_session_id) if making.from_session_id in rows else 0
    repair = repair_at(issued, values, now=now, kind=making.repair, first=first)
    return rota_inputs(values, repair=repair, now=now), repair


@dataclass
class _Beat:
    """Tells the database that the worker lives and how far it is, and hears whether to stop; at most once a second."""

    making: Making
    last_s: float = float("-inf")
    was_cancelled: bool = False
    known: Progress | None = None

    def progress(self, progress: Progress) -> None:
        """The planner's sign of life."""
        self.known = progress
        self._beat()

    def is_cancelled(self) -> bool:
        """Whether somebody asked the run to stop."""
        self._beat()
        return self.was_cancelled

    def _beat(self) -> None:
        if monotonic() - self.last_s < BEAT_EVERY_S:
            return
        self.last_s = monotonic()
        row = Making.objects.filter(pk=self.making.pk)
        known: dict[str, Any] = {}
        if self.known is not None:
            known = {"stage": self.known.stage, "best": self.known.worst_share, "bound": self.known.bound}
        try:
            row.update(heartbeat_at=timezone.now(), version=F("version") + 1, **known)
        except OperationalError as error:
            if not is_busy(error):
                raise
        self.was_cancelled = row.filter(cancel=True).exists()


def _keep(making: Making, inputs: RotaInputs, outcome: Outcome, repair: RepairFrom | None) -> None:
    """Save the plan as a draft."""
    if outcome.plan is None:
        return
    made = Made(
        status=outcome.status,
        bound=outcome.bound,
        stages=tuple(asdict(stage) for stage in outcome.stages),
        seed=making.seed,
        effort=making.effort,
        seconds=outcome.seconds,
        solver_version=solver_version(),
    )
    plan, by = outcome.plan, making.started_by
    rota = patiently(lambda: rota_save(inputs=inputs, plan=plan, made=made, by=by, now=timezone.now(), repair=repair))
    _end(making, ENDED_WELL[outcome.status], rota=rota, best=outcome.worst_share, bound=outcome.bound)


def _end_impossible(making: Making, inputs: RotaInputs) -> None:
    explanation, names = explain(inputs.problem), trip_names(inputs)
    data = explanation_data(explanation, names) | {"remedies": remedies_data(explanation, inputs, names)}
    _end(making, "impossible", explanation=data)


def explanation_data(explanation: Explanation, names: RotaNames) -> dict[str, Any]:
    """An explanation as a run keeps it: for leaders, and for everybody else."""
    return {
        "verdict": explanation.verdict,
        "leader": refusal_sentences(explanation, names),
        "public": refusal_sentences(explanation, names, for_leader=False),
    }


def _end(making: Making, state: str, **fields: Any) -> None:
    now: datetime = timezone.now()
    row = Making.objects.filter(pk=making.pk)
    patiently(lambda: row.update(state=state, ended_at=now, version=F("version") + 1, **fields))


def solver_version() -> str:
    """What planned: the versions that decide the bytes of a rota."""
    return f"ortools {version('ortools')}, numpy {version('numpy')}"
