from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.management.plain_command import IMPOSSIBLE, NOTHING_FOUND, Refusal
from trips.management.rota_commands import RotaCommand
from trips.selectors.rota_verdict import trip_explained
from trips.selectors.trip_named import trip_named


class Command(RotaCommand):
    """Say whether a rota of a trip can keep all rules; if none can, which rules conflict and what would help."""

    examples = ('"May at the estate"',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        self.add_search_time_argument(parser)
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        told = trip_explained(trip_named(options["trip"]), now=timezone.now(), search_time=self.search_time(options))
        if options["json"]:
            self.write_json({"verdict": told.verdict, "sentences": list(told.sentences)})
        else:
            self.stdout.write("\n".join(told.sentences))
        if told.verdict == "impossible":
            raise Refusal("No rota can keep all rules of this trip.", returncode=IMPOSSIBLE)
        if told.verdict == "unknown":
            raise Refusal("Whether a rota can keep all rules was not settled in time.", returncode=NOTHING_FOUND)
