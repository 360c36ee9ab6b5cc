"""A trip's records of incidents, and the session that one is likely about."""

from datetime import datetime
from uuid import UUID

from django.shortcuts import get_object_or_404

from trips.models import IncidentRecord, Session, Trip


def incidents_of(trip: Trip) -> list[IncidentRecord]:
    """The records, the newest first, without what they say."""
    return list(trip.incidents.select_related("session__site", "by").defer("paper").order_by("-number"))


def incident_for(trip: Trip, uuid: UUID) -> IncidentRecord:
    """The record of that uuid on the trip."""
    return get_object_or_404(trip.incidents, uuid=uuid)


def session_begun(trip: Trip, now: datetime) -> Session | None:
    """The last session that has begun."""
    return trip.sessions.filter(starts_at__lte=now).order_by("-starts_at").first()
