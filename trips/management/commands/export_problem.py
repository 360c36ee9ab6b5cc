from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.core.rota.files.problem_text import anonymous, problem_text
from trips.management.plain_command import Refusal, write_bytes
from trips.management.rota_commands import RotaCommand, session_named
from trips.models import Making
from trips.selectors.trip_named import trip_named
from trips.services.making import NothingIssued, NothingToPlan, making_possible
from trips.services.making_run import making_inputs
from trips.services.snapshot import snapshot


class Command(RotaCommand):
    """Write a trip's rota problem to a file. solve_problem plans it without a database."""

    examples = ('"May at the estate" problem.json --anonymous',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("file", metavar="FILE", help="where to write it; - writes to standard output")
        parser.add_argument("--anonymous", action="store_true", help="numbers instead of all names")
        repair = "the problem of a repair of the issued rota"
        parser.add_argument("--changes", choices=["fewest", "few", "free"], default="", help=repair)
        parser.add_argument("--from", dest="first", metavar="SESSION", help="the repair leaves what is before it")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        if options["first"] and not options["changes"]:
            raise Refusal("--from belongs to a repair: say --changes as well.")
        first = session_named(trip, options["first"]) if options["first"] else None
        wanted = Making(trip=trip, repair=options["changes"], from_session=first)
        try:
            with snapshot():
                making_possible(trip=trip, repair=wanted.repair)
                inputs, _ = making_inputs(wanted, timezone.now())
        except (NothingIssued, NothingToPlan) as nothing:
            raise self.refusal(nothing) from nothing
        problem = anonymous(inputs.problem) if options["anonymous"] else inputs.problem
        write_bytes(options["file"], problem_text(problem).encode())
