from typing import Any
from uuid import UUID

from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, Refusal, write_bytes
from trips.models import Place, Trip
from trips.selectors.trip_named import trip_named
from trips.services.calendars import CalendarOf, calendar_for_file


class Command(PlainCommand):
    """Write the calendar of a trip, or of one person on it, as an iCalendar file (- for standard output)."""

    examples = ('"May at the estate" may.ics',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("file", metavar="FILE", help="where to write it; - writes to standard output")
        parser.add_argument("--person", metavar="UUID", help="the person whose calendar it is; otherwise the trip's")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        place = _place(trip, options["person"]) if options["person"] else None
        content, issued = calendar_for_file(CalendarOf(trip, place=place))
        write_bytes(options["file"], content)
        if not issued:
            self.stderr.write("No rota of this trip is issued yet: the calendar shows the newest draft.")


def _place(trip: Trip, person: str) -> Place:
    try:
        uuid = UUID(person)
    except ValueError as wrong:
        raise Refusal(f"{person!r} is not the identity of a person.") from wrong
    places = trip.places.select_related("trip", "participant")
    place = places.filter(participant__uuid=uuid).first() or places.filter(uuid=uuid).first()
    if place is None:
        raise Refusal(f"Nobody on this trip has the identity {person}.")
    return place
