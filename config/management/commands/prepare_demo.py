import re
import shutil
from io import StringIO
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import CommandParser
from django.utils import timezone

from trips.management.plain_command import PlainCommand, Refusal, reason_words
from trips.models import Place, PlaceState, Rota, Session, Trip
from trips.services.rota import rota_issue

SEED = 1  # any draw number will do; a fixed one makes the demo repeatable


class Command(PlainCommand):
    """Fill an empty database with the invented trip, plan and issue it, and write its papers and calendars."""

    examples = ("demo-out",)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path, metavar="DIR", help="where papers and calendars go; it is emptied")

    def handle(self, *args: Any, **options: Any) -> None:
        folder: Path = options["folder"]
        try:
            emptied(folder)
        except OSError as wrong:
            raise Refusal(f"{wrong.filename or folder} cannot be written: {reason_words(wrong)}.") from wrong
        call_command("migrate", verbosity=0)
        call_command("load_demo")
        trip = Trip.objects.select_related("leader").get()
        named = str(trip.uuid)
        self.stdout.write("Planning, which takes some seconds ...")
        call_command("plan", named, "--seed", str(SEED), stdout=StringIO())  # the rota's own page shows it better
        call_command("check_rota", named)
        rota = trip.rotas.get()
        rota_issue(rota=rota, by=trip.leader, now=timezone.now())
        call_command("write_papers", named, str(folder))
        self.write_calendars(trip, folder)
        self.summarise(rota, folder)

    def write_calendars(self, trip: Trip, folder: Path) -> None:
        """One for the trip, one for each person."""
        named = str(trip.uuid)
        call_command("write_calendar", named, str(folder / "calendar-trip.ics"))
        for place in Place.objects.filter(trip=trip, state=PlaceState.CONFIRMED).select_related("participant"):
            file = folder / f"calendar-{file_name(place.participant.name)}.ics"
            call_command("write_calendar", named, str(file), "--person", str(place.participant.uuid))

    def summarise(self, rota: Rota, folder: Path) -> None:
        """What the demo made, in a few lines."""
        shares = list(rota.result["shares"].values())
        sessions = Session.objects.filter(trip=rota.trip).count()
        self.stdout.write(
            f"{len(shares)} people, {sessions} sessions. Lowest fair share {min(shares):.2f}, "
            f"mean fair share {sum(shares) / len(shares):.2f}. The checker accepts the rota; it is issued."
        )
        for sentence in rota.result["told"]["guarantee"]:
            self.stdout.write(sentence)
        briefings, calendars = (len(list(folder.glob(f"*{ending}"))) for ending in (".pdf", ".ics"))
        more = len(list(folder.rglob("*.pdf"))) - briefings
        self.stdout.write(
            f"{folder}/ holds {briefings} briefings and {calendars} calendars, {folder}/papers/ {more} more papers."
        )


def emptied(folder: Path) -> None:
    """What an earlier demo wrote goes; the folder itself stays."""
    folder.mkdir(exist_ok=True)
    for entry in folder.iterdir():
        if entry.is_dir():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def file_name(name: str) -> str:
    """A name as a file name: letters and digits of any script, joined by hyphens."""
    return re.sub(r"\W+", "-", name.casefold()).strip("-") or "person"
