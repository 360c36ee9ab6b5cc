"""The trip that a person at the command line means."""

from uuid import UUID

from participants.core.errors import CoreError
from trips.models import Trip


class NoSuchTrip(CoreError):
    """No trip has that uuid or name: `named`, `known` (names of the trips there are)."""


class SeveralTrips(CoreError):
    """More than one trip has that name: `named`, `uuids`."""


def trip_named(named: str) -> Trip:
    """The trip of a uuid, or of a name that only one trip has. Raises NoSuchTrip or SeveralTrips."""
    trips = Trip.objects.select_related("leader", "rules")
    try:
        found = list(trips.filter(uuid=UUID(named)))
    except ValueError:
        found = []
    found = found or list(trips.filter(name=named)) or list(trips.filter(name__iexact=named))
    if len(found) > 1:
        raise SeveralTrips(named=named, uuids=tuple(str(trip.uuid) for trip in found))
    if not found:
        raise NoSuchTrip(named=named, known=tuple(Trip.objects.values_list("name", flat=True)[:10]))
    return found[0]


def trip_named_sentence(error: NoSuchTrip | SeveralTrips) -> str:
    """Why no trip was found, and what to write instead."""
    if isinstance(error, SeveralTrips):
        return f"{len(error.uuids)} trips are named {error.named!r}: give one of the uuids {', '.join(error.uuids)}."
    if not error.known:
        return f"There is no trip {error.named!r}; there are no trips at all yet."
    return f"There is no trip {error.named!r}; there are {', '.join(repr(name) for name in error.known)}."
