"""What is over and which cars have left, so that a rota is only repaired where it still can be."""

from collections import Counter
from datetime import datetime

from trips.assemble.calls import session_calls, trip_cars
from trips.assemble.rota import RepairFrom, plan_of
from trips.assemble.trip import TripValues
from trips.models import Rota


def repair_at(rota: Rota, values: TripValues, *, now: datetime, kind: str = "fewest", first: int = 0) -> RepairFrom:
    """Where a repair of an issued rota starts at a moment.

    Sessions that have begun are over; `first`: or those before that index, if later. A turn in a later session is
    fixed once its car has left.
    """
    begun = [index for index, session in enumerate(values.sessions) if session.starts_at <= now]
    past = max([first, *(index + 1 for index in begun)])
    return RepairFrom(rota, kind, past, departed(rota, values, past=past, now=now))


def departed(rota: Rota, values: TripValues, *, past: int, now: datetime) -> frozenset[tuple[int, int]]:
    """(session, hide) whose car has left at `now`, among the sessions that are not over."""
    people: Counter[tuple[int, int]] = Counter(
        (turn.session, turn.hide) for turn in plan_of(rota, values).turns if turn.session >= past
    )
    cars = trip_cars(values)
    gone = set()
    for session in sorted({session for session, _ in people}):
        occupied = {values.hides[hide].key: number for (when, hide), number in people.items() if when == session}
        calls = session_calls(values, cars, values.sessions[session].key, occupied, {})
        gone |= {
            (session, index)
            for index, hide in enumerate(values.hides)
            if hide.key in calls and calls[hide.key].leaves_at <= now
        }
    return frozenset(gone)
