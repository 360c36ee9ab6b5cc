import json
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser
from django.utils import timezone

from trips.core.day import PersonNow, Sat, SessionNow
from trips.management.day_commands import moment_said, zone_of_trip
from trips.management.plain_command import PlainCommand
from trips.selectors.day_state import TripDay, trip_day
from trips.selectors.out_back import told
from trips.selectors.trip_named import trip_named

STATES = {"not_out": "not out yet", "not_coming": "not coming"}


class Command(PlainCommand):
    """Print how a trip's day stands: who is out, back and overdue, and who sat where."""

    examples = ('"May at the estate" --at 2027-05-08T08:00 --json',)
    help = "Print who is out, back, expected and overdue at a moment, and who sat where in sessions that are over."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("--at", metavar="MOMENT", help="2027-05-08T08:00, or 08:00 for today; by default now")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        trip, now = trip_named(options["trip"]), timezone.now()
        zone = zone_of_trip(trip)
        day = trip_day(trip, now=moment_said(options["at"], zone, now) if options["at"] else now)
        if options["json"]:
            self.stdout.write(json.dumps(_data(day, zone), ensure_ascii=False, indent=1))
            return
        at = day.state.at.astimezone(ZoneInfo(zone))
        self.stdout.write(f"{trip.name} at {at:%H:%M on %d %B %Y} ({zone})")
        for session in day.state.sessions:
            self._session(day, session)

    def _session(self, day: TripDay, session: SessionNow) -> None:
        row = day.sessions[session.session.key]
        zone = ZoneInfo(row.site.time_zone)
        starts_at, ends_at = row.starts_at.astimezone(zone), row.ends_at.astimezone(zone)
        self.stdout.write(f"{row.name or row.get_kind_display()}, {starts_at:%d %B %H:%M}-{ends_at:%H:%M}")
        for hide, said in session.closed.items():
            self.stdout.write(f"  {day.hides[hide].name} closed since {said.at.astimezone(zone):%H:%M}")
        for one in session.contradictions:
            self.stdout.write(f"  does not agree: {told(day, one, zone)}")
        if session.session.ends_at > day.state.at:
            for person in session.people:
                hide = day.hides[person.hide].name if person.hide else "no hide"
                self.stdout.write(
                    f"  {day.people[person.person].name}: {STATES.get(person.standing, person.standing)}, {hide}"
                )
            return
        for sat in day.sat[session.session.key]:
            name, hide = day.people[sat.person].name, day.hides[sat.hide].name
            self.stdout.write(f"  {name} sat {sat.minutes:.0f} min in {hide}")
        for person in session.people:
            if person.is_overdue or person.is_out:
                self.stdout.write(f"  {day.people[person.person].name}: {person.standing}")


def _data(day: TripDay, zone: str) -> dict[str, Any]:
    return {
        "trip": str(day.trip.uuid),
        "at": day.state.at.isoformat(),
        "time_zone": zone,
        "sessions": [
            {
                "session": one.session.key,
                "starts_at": one.session.starts_at.isoformat(),
                "ends_at": one.session.ends_at.isoformat(),
                "people": [_person(day, person) for person in one.people],
                "closed": [
                    {"hide": day.hides[hide].name, "at": said.at.isoformat()} for hide, said in one.closed.items()
                ],
                "contradictions": [
                    {"kind": found.kind, "said": told(day, found, ZoneInfo(zone))} for found in one.contradictions
                ],
                "sat": [_sat(day, sat) for sat in day.sat[one.session.key]],
            }
            for one in day.state.sessions
        ],
    }


def _person(day: TripDay, one: PersonNow) -> dict[str, Any]:
    moments = {"out_at": one.out_at, "back_at": one.back_at, "left_at": one.left_at, "due_at": one.due_at}
    return {
        "person": one.person,
        "name": day.people[one.person].name,
        "state": one.standing,
        "hide": day.hides[one.hide].name if one.hide else "",
        "seat": day.seat_names.get(one.seat, ""),
        **{name: moment.isoformat() if moment else None for name, moment in moments.items()},
    }


def _sat(day: TripDay, one: Sat) -> dict[str, Any]:
    names = {"person": day.people[one.person].name, "hide": day.hides[one.hide].name}
    return names | {"seat": day.seat_names.get(one.seat, ""), "minutes": round(one.minutes, 1)}
