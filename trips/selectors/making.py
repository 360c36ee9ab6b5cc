"""Runs of the planner as pages show them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, Q, QuerySet
from django.shortcuts import get_object_or_404

from trips.core.planning_turns import WaitingRun, next_run
from trips.documents.drawings import closing_drawing
from trips.documents.wording.rota_reasons import HELP_BEGINS
from trips.models import Making, MakingState, Trip
from trips.models.rota import ACTIVE_MAKING_STATES

NO_SIGN_AFTER_S = 7  # a page that looks every two seconds then tells of a missing worker within ten
SERVED_LATELY = timedelta(days=1)  # who was served before that counts as never served
STALE_AFTER_S = 60  # a worker that says nothing for so long is taken to be gone


def making_for(trip: Trip, uuid: UUID | str) -> Making:
    """The run of that uuid on this trip; 404 otherwise."""
    return get_object_or_404(trip.makings.select_related("rota"), uuid=uuid)


def last_making(trip: Trip) -> Making | None:
    """The latest run of a trip."""
    return trip.makings.select_related("rota").order_by("-started_at", "-pk").first()


def run_in_turn(now: datetime) -> UUID | None:
    """The waiting run that a free planner begins now (`next_run`); None where none may begin.

    Nobody's runs have no turn: a command begins its own, and a task that of a starter who is gone. Two planners that
    look at once may both begin runs of a leader with one place left: then one more is under way for a while.
    """
    runs = [WaitingRun(*row) for row in _waiting().values_list("uuid", "started_by", "started_at")]
    lately = Making.objects.filter(heartbeat_at__gte=now - SERVED_LATELY).order_by()
    alive = Q(state=MakingState.RUNNING, heartbeat_at__gte=now - timedelta(seconds=STALE_AFTER_S))
    begun = list(lately.values_list("started_by").annotate(at=Max("heartbeat_at"), count=Count("pk", filter=alive)))
    chosen = next_run(runs, {who: count for who, _, count in begun}, {who: at for who, at, _ in begun})
    return chosen.key if chosen else None


def run_waits() -> bool:
    """Whether any run waits for a planner."""
    return _waiting().exists()


def _waiting() -> QuerySet[Making]:
    return Making.objects.filter(state=MakingState.WAITING, started_by__isnull=False)


def silence(making: Making, now: datetime) -> timedelta:
    """How long ago the last sign of life was: the start of a run that nobody has taken up."""
    return now - (making.heartbeat_at or making.started_at)


def making_state(making: Making, now: datetime) -> str:
    """The state to show: a run without a sign of life is "not_finished" even before anybody says so to the database."""
    is_gone = making.state == MakingState.RUNNING and silence(making, now) > timedelta(seconds=STALE_AFTER_S)
    return MakingState.NOT_FINISHED if is_gone else making.state


LOOK_EVERY_S = 2  # how often an open page asks how far the run is
STAGE_WORDS = {
    "": "getting ready",
    "first_plan": "looking for a first plan",
    "rests": "as few rests as possible",
    "rests_repeated": "nobody rests twice before everybody has rested",
    "changes": "as few changes as possible",
    "seat_changes": "as few new seats as possible",
    "without_turn": "everybody in the sought-after hides",
    "demand_excess": "turns in the sought-after hides spread evenly",
    "worst_share": "the lowest fair share as high as possible",
    "total_of_shares": "the sum of all fair shares",
    "next_worst": "the next lowest fair shares",
    "burden_excess": "hardships spread evenly",
    "leader_company": "the leader's company spread evenly",
    "leader_seats": "the leader takes no seat that somebody needs",
    "draw": "who goes without in the sought-after hides, by lot",
    "served": "whoever went without comes first",
    "guests_without": "guests in spare seats",
    "pairs_met": "everybody meets everybody",
    "quality": "seats within a hide spread evenly",
}


def stage_words(stage: str) -> str:
    """A stage of the planner in words."""
    return STAGE_WORDS.get(stage, stage.replace("_", " "))


@dataclass(frozen=True)
class MakingPanel:
    """What the panel says of a run. `gap`: how far from the best possible, 0-1, None unknown; `closing`: a drawing of
    it, empty before the first plan; `silent_s`: no sign of life for so long, 0 where that is not worth a word.

    What would help is in `remedies` where it can be offered, and then not in `sentences` as well.
    """

    making: Making
    state: str
    gap: float | None
    closing: str
    seconds: int
    silent_s: int
    sentences: tuple[str, ...]
    remedies: tuple[dict[str, Any], ...]
    look_every_s: int = LOOK_EVERY_S

    @property
    def is_active(self) -> bool:
        """Whether the run waits or is under way."""
        return self.state in ACTIVE_MAKING_STATES


def making_panel(making: Making | None, now: datetime) -> MakingPanel | None:
    """The panel of the latest run, None where there was none."""
    if making is None:
        return None
    state, best, bound = making_state(making, now), making.best, making.bound
    seconds = max(0, int(((making.ended_at or now) - making.started_at).total_seconds()))
    silent_s = int(silence(making, now).total_seconds())
    explanation = making.explanation or {}
    remedies = tuple(explanation.get("remedies", ()))
    return MakingPanel(
        making=making,
        state=state,
        gap=max(0.0, (bound - best) / bound) if best is not None and bound else None,
        closing=closing_drawing(making.progress, seconds) if making.progress else "",
        seconds=seconds,
        silent_s=silent_s if state in ACTIVE_MAKING_STATES and silent_s >= NO_SIGN_AFTER_S else 0,
        sentences=tuple(
            one for one in explanation.get("leader", ()) if not remedies or not one.startswith(HELP_BEGINS)
        ),
        remedies=remedies,
    )
