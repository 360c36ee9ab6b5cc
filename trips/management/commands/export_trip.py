from typing import Any

from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, Refusal, write_bytes
from trips.selectors.trip_named import trip_named
from trips.services.trip_file import trip_file_bytes


class Command(PlainCommand):
    """Write one trip, with all its rows, as one JSON file (- for standard output)."""

    examples = ('"May at the estate" may.json',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("file", metavar="FILE", help="where to write it; - writes to standard output")
        parser.add_argument("--with-health", action="store_true", help="take the health notes along")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        try:
            content = trip_file_bytes(trip=trip, with_health=options["with_health"])
        except ValueError as wrong:
            raise Refusal(f"The trip holds a number that no file can hold: {wrong}.") from wrong
        write_bytes(options["file"], content)
        if options["with_health"]:
            self.stderr.write("The file holds health notes: keep it where only the leader can read it.")
