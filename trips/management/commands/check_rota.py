from typing import Any

from django.core.management.base import CommandParser

from trips.assemble.rota_result import stored_rota
from trips.management.plain_command import IMPOSSIBLE, Refusal
from trips.management.rota_commands import MOST_NUMBER, RotaCommand, whole
from trips.selectors.rota_verdict import rota_checked, rota_numbered
from trips.selectors.trip_named import trip_named


class Command(RotaCommand):
    """Check a stored rota: the issued one, or the one of that number."""

    examples = ('"May at the estate" --number 2',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        which = "number of the rota; without it the issued or latest one"
        parser.add_argument("--number", type=whole(1, MOST_NUMBER), help=which)

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        rota = rota_numbered(trip, options["number"])
        if rota is None:
            which = f"no rota {options['number']}" if options["number"] is not None else "no rota yet"
            raise Refusal(f"The trip {trip.name!r} has {which}.")
        checked = rota_checked(stored_rota(rota))
        if checked.faults:
            raise Refusal(*checked.sentences, returncode=IMPOSSIBLE)
        self.stdout.write("\n".join((f"Rota {rota.number} ({rota.state}) keeps all rules.", *checked.notes)))
