"""What the commands of the day share: moments on the site's clock, people and hides by name."""

from collections.abc import Callable, Iterable
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from participants.core.errors import BadValue
from trips.core.day.values import BACK, OVERDUE_NOTED, REACHED
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local
from trips.management.plain_command import Refusal
from trips.models import Hide, Session, Trip
from trips.selectors.day_state import DayPerson, people_of

OF_THE_LAST = (BACK, OVERDUE_NOTED, REACHED)


def zone_of_trip(trip: Trip) -> str:
    """The time zone of the trip's first site, by name."""
    site = trip.sites.order_by("name", "uuid").first()
    return site.time_zone if site else "UTC"


def moment_said(text: str, zone: str, now: datetime) -> datetime:
    """A moment of the command line: 2027-05-08T08:00, or 08:00 for today at the site; with an offset as written."""
    try:
        if "T" in text or " " in text:
            moment = datetime.fromisoformat(text)
            if moment.tzinfo is not None:
                return moment
            day, clock = moment.date(), moment.time()
        else:
            day, clock = now.astimezone(ZoneInfo(zone)).date(), time.fromisoformat(text)
        return moment_from_local(date(day.year, day.month, day.day), clock, zone)
    except (ClockTimeMissing, ClockTimeTwice) as wrong:
        raise Refusal(
            f"The clocks change at {text}: write the moment with its offset, 2027-03-28T01:30+01:00."
        ) from wrong
    except (ValueError, BadValue) as wrong:
        raise Refusal(f"{text!r} is no moment: write 2027-05-08T08:00, or 08:00 for today.") from wrong


def one_named(named: str, rows: Iterable[Any], what: str, name_of: Callable[[Any], str]) -> Any:
    """The row of a name or uuid; a refusal names those there are."""
    rows = list(rows)
    found = [row for row in rows if named.casefold() == name_of(row).casefold() or named in _keys(row)]
    if len(found) == 1:
        return found[0]
    if found:
        raise Refusal(f"{len(found)} have the name {named!r}: give the uuid of one of them.")
    known = ", ".join(sorted(name_of(row) for row in rows)[:12]) or "none"
    raise Refusal(f"There is no {what} {named!r} on this trip. There are: {known}.")


def _keys(row: Any) -> tuple[str, ...]:
    if isinstance(row, DayPerson):
        return (row.key, row.key.partition("-")[2])
    return (str(row.uuid),)


def person_named(trip: Trip, named: str) -> DayPerson:
    """Somebody on the trip, a leader among them."""
    found: DayPerson = one_named(named, people_of(trip), "person", lambda one: one.name)
    return found


def hide_named(trip: Trip, named: str) -> Hide:
    """A hide of the trip's sites."""
    found: Hide = one_named(named, Hide.objects.filter(site__trips=trip), "hide", lambda one: str(one.name))
    return found


def session_at(trip: Trip, moment: datetime, kind: str) -> Session:
    """The session that runs at a moment, or else the next one; who is back or missed belongs to the last one begun."""
    if kind in OF_THE_LAST:
        begun = trip.sessions.select_related("site").filter(starts_at__lte=moment).order_by("starts_at").last()
        if begun is not None:
            return begun
    session = trip.sessions.select_related("site").filter(ends_at__gte=moment).order_by("starts_at").first()
    if session is None:
        raise Refusal("No session runs then or comes after it: name one with --session, or another moment with --at.")
    return session
