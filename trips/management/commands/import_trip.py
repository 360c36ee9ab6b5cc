from typing import Any

from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, Refusal, read_bytes
from trips.services.trip_file import TripFileRefused, trip_file_import
from trips.services.trip_file.reading import LARGEST_BYTES


class Command(PlainCommand):
    """Import a trip from its JSON file (- for standard input). A wrong file changes nothing."""

    examples = ("may.json",)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a file of export_trip; - reads standard input")
        parser.add_argument("--leader", metavar="NAME", default="", help="who leads the trip here (a user name)")
        parser.add_argument("--copy", action="store_true", help="import it as a copy with new uuids")

    def handle(self, *args: Any, **options: Any) -> None:
        content = read_bytes(options["file"], at_most=LARGEST_BYTES)
        try:
            done = trip_file_import(content=content, leader=options["leader"], copy=options["copy"])
        except TripFileRefused as refused:
            raise Refusal(*(f"{options['file']}: {sentence}" for sentence in refused.sentences())) from refused
        trip = done.trip
        counted = {name: done.counts.get(name, 0) for name in ("participants", "hides", "sessions", "rotas")}
        made = ", ".join(f"{number} {name}" for name, number in counted.items())
        self.stdout.write(f"Imported {trip.name} ({trip.uuid}): {made}; led by {trip.leader.get_username()}.")
        for username in done.made_leaders:
            self.stdout.write(f"Made the leader {username}, who needs a password: manage.py changepassword {username}")
