"""Days that are typed: those of the trip."""

from datetime import date

from django.core.exceptions import ValidationError

from trips.core.sun import FIRST_YEAR, LAST_YEAR
from trips.documents.quantities import days_text
from trips.models import Trip


def in_trip(trip: Trip, day: date) -> bool:
    """Whether a day is one of the trip's."""
    return trip.starts_on <= day <= trip.ends_on


def trip_lasts(trip: Trip) -> str:
    """What is said to a day outside."""
    return f"The trip lasts from {days_text(trip.starts_on, trip.ends_on)}."


def in_years_of_the_sun(day: date) -> None:
    """Refuse a day for which no sun can be computed."""
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValidationError(f"The sun is computed for the years {FIRST_YEAR} to {LAST_YEAR}, not {day.year}.")
