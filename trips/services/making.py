"""Starting, cancelling and giving up runs of the planner. The planner itself runs in a worker."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Self

from django.db import transaction
from django.db.models import F, Q

from participants.core.errors import CoreError
from trips.core.rota.search.outcome import SearchTime
from trips.models import ON_TRIP, Making, MakingState, Rota, RotaState, Session, Trip
from trips.models.rota import ACTIVE_MAKING_STATES
from trips.selectors.making import STALE_AFTER_S
from trips.tasks.making import making_run


class NothingIssued(CoreError):
    """A repair starts from an issued rota, and there is none: `trip`."""


class NothingToPlan(CoreError):
    """Nobody is on the trip, or it has no session: `trip`."""


@dataclass(frozen=True)
class Wanted:
    """What a run is asked for, by the names of its columns.

    `repair`: "" anew, fewest, few, free; `from_session`: nothing earlier moves; `towards`: a former rota to go back to.
    """

    seed: int = 0
    search_time: SearchTime = SearchTime.NORMAL
    repair: str = ""
    from_session: Session | None = None
    towards: Rota | None = None

    @classmethod
    def again(cls, making: Making) -> Self:
        """The same as an earlier run."""
        return cls(making.seed, SearchTime(making.search_time), making.repair, making.from_session, making.towards)


@transaction.atomic
def making_start(*, trip: Trip, wanted: Wanted, by: Any, now: datetime) -> Making:
    """Start a run in a worker, or hand back the one that is under way: two presses give one run."""
    making, is_new = making_open(trip=trip, wanted=wanted, by=by, now=now)
    if is_new:
        making_run.enqueue(str(making.uuid))  # a row as well: no run waits without its task
    return making


def making_open(*, trip: Trip, wanted: Wanted, by: Any, now: datetime) -> tuple[Making, bool]:
    """The row of a new run, or the active one's, and whether it is new. Raises NothingIssued, NothingToPlan."""
    making_possible(trip=trip, repair=wanted.repair)
    makings_give_up(trip=trip, now=now)
    asked = {"started_by": by, "started_at": now, **vars(wanted)}
    return Making.objects.get_or_create(trip=trip, state__in=ACTIVE_MAKING_STATES, defaults=asked)


def making_possible(*, trip: Trip, repair: str) -> None:
    """Whether there is something to plan or repair. Raises NothingIssued, NothingToPlan."""
    if repair and not trip.rotas.filter(state=RotaState.ISSUED).exists():
        raise NothingIssued(trip=trip)
    if not trip.sessions.exists() or not trip.places.filter(state__in=ON_TRIP).exists():
        raise NothingToPlan(trip=trip)


def making_cancel(*, making: Making, now: datetime) -> Making:
    """Ask a run to stop: it keeps its best plan. One that no worker has begun ends at once."""
    waiting = Making.objects.filter(pk=making.pk, state=MakingState.WAITING)
    if not waiting.update(state=MakingState.STOPPED, ended_at=now, cancel=True, version=F("version") + 1):
        Making.objects.filter(pk=making.pk, state=MakingState.RUNNING).update(cancel=True, version=F("version") + 1)
    making.refresh_from_db()
    return making


def makings_give_up(*, trip: Trip, now: datetime) -> int:
    """Runs whose worker gave no sign of life are "not finished": their last good plans stay."""
    silent = now - timedelta(seconds=STALE_AFTER_S)
    dead = Making.objects.filter(trip=trip, state=MakingState.RUNNING).filter(
        Q(heartbeat_at__lt=silent) | Q(heartbeat_at__isnull=True, started_at__lt=silent)
    )
    return dead.update(state=MakingState.NOT_FINISHED, ended_at=now, version=F("version") + 1)
