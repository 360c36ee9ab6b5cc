from typing import Any

from django.core.management.base import CommandParser

from trips.core.rota.search.outcome import SearchTime
from trips.management.rota_commands import RotaCommand, session_named
from trips.selectors.trip_named import trip_named
from trips.services.making import Wanted


class Command(RotaCommand):
    """Repair the issued rota of a trip into a new draft, with as few changes as its rules allow."""

    examples = ('"May at the estate" --changes few',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("--from", dest="first", metavar="SESSION", help="do not change earlier sessions")
        parser.add_argument("--changes", choices=["fewest", "few", "free"], default="fewest", help="how freely")
        self.add_planner_arguments(parser, "quick")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        first = session_named(trip, options["first"]) if options["first"] else None
        wanted = Wanted(options["seed"], self.search_time(options, SearchTime.QUICK), options["changes"], first)
        self.tell(self.run_planner(trip, wanted, options), options)
