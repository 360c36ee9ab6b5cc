"""Days that are typed: those of the trip."""

from datetime import date

from trips.documents.quantities import days_text
from trips.models import Trip


def in_trip(trip: Trip, day: date) -> bool:
    """Whether a day is one of the trip's."""
    return trip.starts_on <= day <= trip.ends_on


def trip_lasts(trip: Trip) -> str:
    """What is said to a day outside."""
    return f"The trip lasts from {days_text(trip.starts_on, trip.ends_on)}."
