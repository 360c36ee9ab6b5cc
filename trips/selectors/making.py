"""Runs of the planner as pages show them."""

from datetime import datetime, timedelta
from uuid import UUID

from django.http import Http404

from trips.models import Making, Trip

ACTIVE = ("waiting", "running")
STALE_AFTER_S = 60  # a worker that says nothing for so long is taken to be gone


def active_making(trip: Trip) -> Making | None:
    """The run that is waiting or under way."""
    return trip.makings.filter(state__in=ACTIVE).first()


def making_for(trip: Trip, uuid: UUID | str) -> Making:
    """The run of that uuid on this trip; 404 otherwise."""
    making = trip.makings.select_related("rota").filter(uuid=uuid).first()
    if making is None:
        raise Http404("no such run")
    return making


def last_making(trip: Trip) -> Making | None:
    """The latest run of a trip."""
    return trip.makings.select_related("rota").order_by("-started_at", "-pk").first()


def making_state(making: Making, now: datetime) -> str:
    """The state to show: a run without a sign of life is "not_finished" even before anybody says so to the database."""
    if making.state != "running":
        return making.state
    last = making.heartbeat_at or making.started_at
    return "not_finished" if now - last > timedelta(seconds=STALE_AFTER_S) else making.state
