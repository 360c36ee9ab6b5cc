"""Runs of the planner as pages show them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.http import Http404

from trips.documents.drawings import closing_drawing
from trips.documents.wording.rota_reasons import HELP_BEGINS
from trips.models import Making, MakingState, Trip
from trips.models.rota import ACTIVE_MAKING_STATES

NO_SIGN_AFTER_S = 7  # a page that looks every two seconds then tells of a missing worker within ten
STALE_AFTER_S = 60  # a worker that says nothing for so long is taken to be gone


def active_making(trip: Trip) -> Making | None:
    """The run that is waiting or under way."""
    return trip.makings.filter(state__in=ACTIVE_MAKING_STATES).first()


def making_for(trip: Trip, uuid: UUID | str) -> Making:
    """The run of that uuid on this trip; 404 otherwise."""
    making = trip.makings.select_related("rota").filter(uuid=uuid).first()
    if making is None:
        raise Http404("no such run")
    return making


def last_making(trip: Trip) -> Making | None:
    """The latest run of a trip."""
    return trip.makings.select_related("rota").order_by("-started_at", "-pk").first()


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
    "without_turn": "everybody in the hides in demand",
    "demand_excess": "turns in the hides in demand spread evenly",
    "worst_share": "the lowest fair share as high as possible",
    "total_of_shares": "the sum of all fair shares",
    "next_worst": "the next lowest fair shares",
    "burden_excess": "burdens spread evenly",
    "leader_company": "the leader's company spread evenly",
    "leader_seats": "the leader takes no seat that somebody needs",
    "draw": "who goes without in the hides in demand, by lot",
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
    """What the panel says. `gap`: how far from the best possible, 0-1, None unknown; `closing`: a drawing of it, empty
    before the first plan; `silent_s`: no sign of life for so long, 0 where that is not worth a word.

    What would help is in `remedies` where it can be offered, and then not in `sentences` as well.
    """

    making: Making
    state: str
    stage: str
    best: float | None
    bound: float | None
    gap: float | None
    closing: str
    seconds: int
    silent_s: int
    rota_number: int | None
    sentences: tuple[str, ...]
    remedies: tuple[dict[str, Any], ...]

    @property
    def is_active(self) -> bool:
        """Whether the run waits or is under way."""
        return self.state in ACTIVE_MAKING_STATES

    @property
    def look_every_s(self) -> int:
        """How often an open page looks again."""
        return LOOK_EVERY_S


def making_panel(making: Making | None, now: datetime) -> MakingPanel | None:
    """The panel of the latest run, None where there was none."""
    if making is None:
        return None
    state = making_state(making, now)
    best, bound = making.best, making.bound
    gap = (bound - best) / bound if best is not None and bound else None
    end = making.ended_at or now
    seconds = max(0, int((end - making.started_at).total_seconds()))
    silent_s = int(silence(making, now).total_seconds())
    explanation = making.explanation or {}
    remedies = tuple(explanation.get("remedies", ()))
    told = explanation.get("leader", ())
    return MakingPanel(
        making=making,
        state=state,
        stage=stage_words(making.stage),
        best=best,
        bound=bound,
        gap=None if gap is None else max(0.0, gap),
        closing=closing_drawing(making.progress, seconds) if making.progress else "",
        seconds=seconds,
        silent_s=silent_s if state in ACTIVE_MAKING_STATES and silent_s >= NO_SIGN_AFTER_S else 0,
        rota_number=making.rota.number if making.rota else None,
        sentences=tuple(one for one in told if not remedies or not one.startswith(HELP_BEGINS)),
        remedies=remedies,
    )
