"""Calendar files after RFC 5545 and RFC 7986, byte for byte the same for the same values.

Every time is written in UTC, so no reader needs the definition of a zone; the local time stands in the description.
An event's identity depends on who and when, never on what the rota says, so a changed turn replaces the old entry.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid5

import icalendar

from participants.core.errors import BadValue
from participants.core.isolation import without_turns

PRODUCT = "-//Fairhide//Turns in photo hides//EN"
CONTENT_TYPE = "text/calendar; charset=utf-8"
DRAFT = "Draft, not issued: it may change."
# RFC 5545 section 3.3.11: TEXT holds no control character but the tab; half a surrogate pair has no UTF-8.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class EventPayload:
    """What an issue keeps of one entry: all that people see, nothing of when it was made.

    `starts_at`, `ends_at`: aware datetimes, or two dates of a day-wide entry; the end is exclusive.
    `alarm_min`: minutes before the start at which the reminder sounds, None = no reminder.
    """

    uid: str
    starts_at: datetime | date
    ends_at: datetime | date
    summary: str
    description: str = ""
    location: str = ""
    alarm_min: int | None = None

    def as_json(self) -> dict[str, Any]:
        """The payload as plain JSON values, moments in UTC."""
        return asdict(self) | {"starts_at": _iso(self.starts_at), "ends_at": _iso(self.ends_at)}

    @classmethod
    def from_json(cls, stored: dict[str, Any]) -> "EventPayload":
        """The payload that `as_json` stored, alone or with its history."""
        moments = {key: _from_iso(stored[key]) for key in ("starts_at", "ends_at")}
        return cls(**({field.name: stored[field.name] for field in fields(cls) if field.name in stored} | moments))


@dataclass(frozen=True, slots=True)
class IssuedPayloads:
    """All entries of one issue of one calendar."""

    issued_at: datetime
    payloads: tuple[EventPayload, ...]


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """An entry with its history: how often it changed, when last, and whether it was withdrawn."""

    payload: EventPayload
    sequence: int
    stamped_at: datetime
    cancelled: bool = False

    def as_json(self) -> dict[str, Any]:
        """The payload and its history as plain JSON values."""
        history = {"sequence": self.sequence, "stamped_at": self.stamped_at.isoformat(), "cancelled": self.cancelled}
        return self.payload.as_json() | history

    @classmethod
    def from_json(cls, stored: dict[str, Any]) -> "CalendarEvent":
        """The entry that `as_json` stored."""
        stamped_at = datetime.fromisoformat(stored["stamped_at"])
        return cls(EventPayload.from_json(stored), stored["sequence"], stamped_at, stored["cancelled"])


@dataclass(frozen=True, slots=True)
class CalendarHead:
    """What a calendar says of itself; `refresh_min`: how often a reader may ask again; `draft`: nobody was told yet."""

    uid: str
    name: str
    description: str = ""
    refresh_min: int = 60
    draft: bool = False


def person_session_uid(trip: UUID, place: UUID, session: UUID) -> str:
    """Identity of one person's entry for a session, whatever hide it is in."""
    return str(uuid5(trip, f"{place} {session}"))


def hide_session_uid(trip: UUID, hide: UUID, session: UUID) -> str:
    """Identity of the trip's and the owner's entry for a hide in a session."""
    return str(uuid5(trip, f"{hide} {session}"))


def day_uid(trip: UUID, what: str, whose: UUID | None = None) -> str:
    """Identity of a day-wide entry: `what` is arrival, departure or trip."""
    return str(uuid5(trip, f"{whose or trip} {what}"))


def calendar_uid(trip: UUID, whose: UUID | None = None) -> str:
    """Identity of a whole calendar (RFC 7986 section 5.3)."""
    return str(uuid5(trip, f"{whose or trip} calendar"))


def plain_text(text: str) -> str:
    """The text as an entry can hold it: line ends as one newline; control characters, half pairs and what would turn
    a line round dropped."""
    return _UNPRINTABLE.sub("", without_turns(text).replace("\r\n", "\n").replace("\r", "\n"))


def events_from_issues(issues: Sequence[IssuedPayloads]) -> tuple[CalendarEvent, ...]:
    """The entries after all issues, oldest first, by start and identity.

    SEQUENCE counts the issues at which an entry became different from what the issue before said (gone and back
    count too), so it only ever grows; DTSTAMP is the moment of the last such issue. An entry that the last issue no
    longer holds keeps its last text and is cancelled; one that comes back is confirmed again.
    """
    events: tuple[CalendarEvent, ...] = ()
    for issue in issues:
        events = events_after(events, issue)
    return events


def events_after(before: Iterable[CalendarEvent], issue: IssuedPayloads) -> tuple[CalendarEvent, ...]:
    """The entries after one more issue; `before`: those after all issues before it."""
    events = {event.payload.uid: event for event in before}
    present = {payload.uid: payload for payload in issue.payloads}
    if len(present) != len(issue.payloads):
        raise BadValue(field="uid", value=len(issue.payloads), low=None, high=len(present), unit="")
    for uid, payload in present.items():
        known = events.get(uid)
        if known is None:
            events[uid] = CalendarEvent(payload, 0, issue.issued_at)
        elif known.cancelled or known.payload != payload:
            events[uid] = CalendarEvent(payload, known.sequence + 1, issue.issued_at)
    for uid, known in events.items():
        if uid not in present and not known.cancelled:
            events[uid] = CalendarEvent(known.payload, known.sequence + 1, issue.issued_at, cancelled=True)
    return tuple(sorted(events.values(), key=lambda event: (_iso(event.payload.starts_at), event.payload.uid)))


def calendar_file(head: CalendarHead, events: Iterable[CalendarEvent]) -> bytes:
    """The calendar as bytes: CRLF, lines of at most 75 octets, one VEVENT per entry.

    A calendar without entries holds a definition of UTC, because RFC 5545 section 3.6 asks for one component. None
    names a METHOD: section 3.7.2 would want it in the content type too, which a file on a disk has not.
    """
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("uid", _Text(head.uid))
    for name in ("name", "x-wr-calname"):
        calendar.add(name, _Text(f"Draft: {head.name}" if head.draft else head.name))
    if description := f"{DRAFT if head.draft else ''} {head.description}".strip():
        for name in ("description", "x-wr-caldesc"):
            calendar.add(name, _Text(description))
    every = timedelta(minutes=head.refresh_min)
    calendar.add("refresh-interval", every, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", icalendar.vDuration(every))
    for event in events:
        calendar.add_component(_event(event, "TENTATIVE" if head.draft else "CONFIRMED"))
    if not calendar.subcomponents:
        calendar.add_component(_utc())
    return bytes(calendar.to_ical())


def _event(event: CalendarEvent, status: str) -> icalendar.Event:
    payload = event.payload
    alike = type(payload.starts_at) is type(payload.ends_at)
    if not alike or payload.ends_at <= payload.starts_at:
        raise BadValue(field="ends_at", value=payload.ends_at, low=payload.starts_at, high=None, unit="")
    entry = icalendar.Event()
    entry["uid"] = _Text(payload.uid)
    entry["dtstamp"] = icalendar.vDDDTypes(_utc_moment(event.stamped_at))
    entry["sequence"] = icalendar.vInt(event.sequence)
    entry["status"] = _Text("CANCELLED" if event.cancelled else status)
    entry.add("dtstart", _utc_moment(payload.starts_at))
    entry.add("dtend", _utc_moment(payload.ends_at))
    entry["summary"] = _Text(payload.summary)
    for name in ("description", "location"):
        if text := getattr(payload, name):
            entry[name] = _Text(text)
    entry["transp"] = _Text("OPAQUE" if isinstance(payload.starts_at, datetime) else "TRANSPARENT")
    if payload.alarm_min is not None and not event.cancelled:
        alarm = icalendar.Alarm()
        alarm["action"] = _Text("DISPLAY")
        alarm["description"] = _Text(payload.summary)
        alarm.add("trigger", timedelta(minutes=-payload.alarm_min))
        entry.add_component(alarm)
    return entry


class _Text(icalendar.vText):
    r"""TEXT as RFC 5545 section 3.3.11 has it (the library's own would turn a typed `\N` into a new line)."""

    def __new__(cls, value: str) -> "_Text":
        return super().__new__(cls, plain_text(value))

    def to_ical(self) -> bytes:
        escaped = str(self).replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return escaped.encode()


def _utc() -> icalendar.Timezone:
    zone = icalendar.Timezone()
    zone.add("tzid", "UTC")
    standard = icalendar.TimezoneStandard()
    standard.add("dtstart", datetime(1970, 1, 1))
    standard.add("tzoffsetfrom", timedelta(0))
    standard.add("tzoffsetto", timedelta(0))
    zone.add_component(standard)
    return zone


def _utc_moment(moment: datetime | date) -> datetime | date:
    if not isinstance(moment, datetime):
        return moment
    if moment.tzinfo is None:
        raise BadValue(field="moment", value=moment, low=None, high=None, unit="time zone")
    return moment.astimezone(UTC).replace(microsecond=0)


def _iso(moment: datetime | date) -> str:
    return _utc_moment(moment).isoformat()


def _from_iso(text: str) -> datetime | date:
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)
