import sys
from typing import Any

from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, Refusal
from trips.services.demo import RealDataHere, demo_load
from trips.services.trip_file import TripFileRefused


class Command(PlainCommand):
    """Load the invented demo trip and its leader; a second run changes nothing."""

    examples = ("",)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--password", metavar="WORD", default="", help="the demo leader's; otherwise a random one")
        parser.add_argument("--beside", action="store_true", help="load it beside your own data, without asking")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = demo_load(password=options["password"], beside=options["beside"])
        except RealDataHere as real:
            what = f"This database holds data of its own ({real.people} people, {real.sites} sites)"
            if not self._agreed(what):
                raise Refusal(f"{what}: load the demo into another one, or beside them with --beside.") from real
            done = demo_load(password=options["password"], beside=True)
        except TripFileRefused as refused:
            raise Refusal(*refused.sentences()) from refused
        state = "Loaded" if done.made else "Already here:"
        self.stdout.write(f"{state} {done.trip.name} ({done.trip.uuid}), led by {done.leader.get_username()}.")
        if done.password:
            self.stdout.write(f"Sign in as {done.leader.get_username()} with the password {done.password}")

    def _agreed(self, what: str) -> bool:
        """Ask a person at a terminal; anybody else has to say --beside."""
        if not sys.stdin.isatty():
            return False
        return input(f"{what}. Load the demo beside them? [y/N] ").strip().lower() in ("y", "yes")
