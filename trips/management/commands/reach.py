import json
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.management.plain_command import PlainCommand
from trips.selectors.reach_report import reach_lines, reach_report
from trips.selectors.trip_named import trip_named


class Command(PlainCommand):
    """Show what everybody's gear does in every view of a trip, and what would help."""

    examples = ('"May at the estate"',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("--json", action="store_true", help="write one JSON object instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        report = reach_report(trip, now=timezone.now())
        if options["json"]:
            self.stdout.write(json.dumps(report, ensure_ascii=False, indent=1, allow_nan=False))
        else:
            self.stdout.write("\n".join(reach_lines(report)))
