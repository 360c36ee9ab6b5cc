"""Runs of the planner as pages show them."""

from datetime import datetime, timedelta
from uuid import UUID

from django.http import Http404

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
