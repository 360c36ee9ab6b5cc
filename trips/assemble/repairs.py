"""What is over and which cars have left, so that a rota is only repaired where it still can be."""

from datetime import datetime

from trips.assemble.drive_rows import rows_of
from trips.assemble.drives import HideRide, TripDrives
from trips.assemble.rota import RepairFrom
from trips.assemble.trip import TripValues
from trips.models import Rota


def repair_at(rota: Rota, values: TripValues, *, now: datetime, kind: str = "fewest", first: int = 0) -> RepairFrom:
    """Where a repair of an issued rota starts at a moment.

    Sessions that have begun are over; `first`: or those before that index, if later. A turn in a later session is
    fixed once its car has left.
    """
    begun = [index for index, session in enumerate(values.sessions) if session.starts_at <= now]
    past = max([first, *(index + 1 for index in begun)])
    return RepairFrom(rota, kind, past, departed(rota, values, past=past, now=now), now)


def departed(rota: Rota, values: TripValues, *, past: int, now: datetime) -> frozenset[tuple[int, int]]:
    """(session, hide) whose car has left at `now`, among the sessions that are not over."""
    rides = TripDrives(rows_of(rota.trip, values.session_rows, values.hide_rows), rota).rides
    sessions = {row.pk: number for number, row in enumerate(values.session_rows)}
    hides = {hide.key: number for number, hide in enumerate(values.hides)}
    return frozenset(
        (sessions[session], hides[hide])
        for (session, hide), ride in rides.items()
        if sessions[session] >= past and _is_gone(ride, now, is_next=sessions[session] == past)
    )


def _is_gone(ride: HideRide, now: datetime, *, is_next: bool) -> bool:
    """Whether a hide's people are on the way or there; who stays from the session before is, once that has begun."""
    return is_next if ride.leaves_at is None else ride.leaves_at <= now
