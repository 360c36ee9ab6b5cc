from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.core.day.values import KINDS_OF_HIDES, KINDS_OF_PEOPLE
from trips.documents.wording.happenings import refused_sentence
from trips.management.day_commands import hide_named, moment_said, one_named, person_named, session_at, zone_of_trip
from trips.management.plain_command import PlainCommand, Refusal
from trips.management.rota_commands import session_named
from trips.models import Happening, HappeningKind, Trip
from trips.selectors.day_state import leaders_of_trip
from trips.selectors.trip_named import trip_named
from trips.services.happenings import NotNoted, Said, happening_note, happening_undo


class Command(PlainCommand):
    """Note what happened on the day, or take a note back."""

    examples = (
        '"May at the estate" not_coming --person "Ana Ruiz" --at 05:50',
        '"May at the estate" moved --person "Ana Ruiz" --hide Alder',
        '"May at the estate" hide_closed --hide Alder --at 2027-05-08T08:00 --note "track flooded"',
        '"May at the estate" undo --of 7d0c7b6e-0f52-4a63-9a0b-0a6f0a3f4b11',
    )
    help = "Note what happened on the day, or take it back. Nothing noted is altered; the issued rota stays as it is."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("kind", choices=[*HappeningKind.values, "undo"], help="what happened")
        parser.add_argument("--person", help="name or uuid of somebody on the trip")
        parser.add_argument("--hide", help="name or uuid of a hide")
        parser.add_argument("--seat", help="name of a seat there; by default the first free one")
        parser.add_argument("--car", help="name of a car")
        parser.add_argument("--session", help="uuid, name or number; by default the one that runs, or the next")
        parser.add_argument("--at", metavar="MOMENT", help="2027-05-08T08:00, or 08:00 for today; by default now")
        parser.add_argument("--until", metavar="MOMENT", help="of late, reached and hide_closed")
        parser.add_argument("--note", default="", help="up to 300 characters")
        parser.add_argument("--by", metavar="LEADER", help="user name of who says so")
        parser.add_argument("--of", metavar="UUID", help="what an undo takes back")

    def handle(self, *args: Any, **options: Any) -> None:
        trip, now = trip_named(options["trip"]), timezone.now()
        zone = zone_of_trip(trip)
        try:
            if options["kind"] == "undo":
                row = happening_undo(row=self._noted(trip, options["of"]), by=self._by(trip, options), at=now)
                self.stdout.write(f"Taken back: {row.get_kind_display()}. To undo this: --of {row.uuid}")
                return
            row = happening_note(trip=trip, said=self._said(trip, zone, now, options), now=now)
        except NotNoted as refused:
            raise Refusal(refused_sentence(refused, zone)) from refused
        self.stdout.write(f"Noted: {row.get_kind_display()}. To undo this: day_change TRIP undo --of {row.uuid}")

    def _said(self, trip: Trip, zone: str, now: datetime, options: dict[str, Any]) -> Said:
        kind, at = options["kind"], moment_said(options["at"], zone, now) if options["at"] else now
        said = Said(kind, at, self._by(trip, options), note=options["note"])
        if kind in KINDS_OF_PEOPLE and not options["person"]:
            raise Refusal(f"Say who with --person: {kind} is about somebody on the trip.")
        if kind in KINDS_OF_HIDES and not options["hide"]:
            raise Refusal(f"Say which hide with --hide: {kind} is about one.")
        if len(options["note"]) > 300:
            raise Refusal("A note has up to 300 characters.")
        session = session_named(trip, options["session"]) if options["session"] else None
        if session is None and kind in (*KINDS_OF_PEOPLE, *KINDS_OF_HIDES):
            session = session_at(trip, at, kind)
        hide = hide_named(trip, options["hide"]) if options["hide"] else None
        if options["seat"] and hide is None:
            raise Refusal("A seat needs its hide: say --hide too.")
        return replace(
            said,
            session=session,
            hide=hide,
            who=person_named(trip, options["person"]) if options["person"] else None,
            seat=one_named(options["seat"], hide.seats.all(), "seat", _name) if options["seat"] and hide else None,
            car=one_named(options["car"], trip.cars.all(), "car", _name) if options["car"] else None,
            until_at=moment_said(options["until"], zone, now) if options["until"] else None,
        )

    def _by(self, trip: Trip, options: dict[str, Any]) -> Any:
        if not options["by"]:
            return None
        for user in leaders_of_trip(trip):
            if user.get_username() == options["by"]:
                return user
        raise Refusal(f"{options['by']!r} does not lead this trip.")

    def _noted(self, trip: Trip, named: str | None) -> Happening:
        try:
            row = Happening.objects.filter(trip=trip, uuid=UUID(named or "")).first()
        except ValueError:
            row = None
        if row is None:
            raise Refusal("Say with --of which happening: the uuid that was printed when it was noted.")
        return row


def _name(row: Any) -> str:
    return str(row.name)
