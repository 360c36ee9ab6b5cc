from typing import Any

from django.core.management.base import CommandParser

from trips.management.rota_commands import RotaCommand
from trips.selectors.trip_named import trip_named
from trips.services.making import Wanted


class Command(RotaCommand):
    """Plan a rota for a trip and save it as a draft."""

    examples = ('"May at the estate" --search-time quick',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        self.add_planner_arguments(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        wanted = Wanted(seed=options["seed"], search_time=self.search_time(options))
        self.tell(self.run_planner(trip, wanted, options), options)
