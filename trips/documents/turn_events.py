"""Calendar entries in words: what a person, the leaders and the owner read of a turn on their telephones."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta

from participants.core.isolation import isolated
from trips.core.values import Session
from trips.documents.days import SessionPage, SitePage
from trips.documents.ical import EventPayload
from trips.documents.owner_sheet import OwnerHide
from trips.documents.quantities import clock_text, position_text, zoned_text
from trips.documents.wording.days import (
    car_words,
    company_words,
    own_hours_words,
    pick_up_words,
    way_words,
)

WAKE_MIN = 30  # before the car leaves
SAME_DAY = "Calendars on telephones can lag by a day: on the day itself trust the page, the paper or the leader."


def meeting_text(site: SitePage | None) -> str:
    """The meeting point with its position: all that a participant's entry says of a place."""
    if site is None:
        return ""
    position = ""
    if site.meeting_latitude_deg is not None and site.meeting_longitude_deg is not None:
        position = position_text(site.meeting_latitude_deg, site.meeting_longitude_deg)
    point = isolated(site.meeting_point or site.lodge or site.name)
    return f"{point} ({position})" if position else point


def person_event(
    uid: str, session: SessionPage, site: SitePage | None, units: str, names: Mapping[str, str]
) -> EventPayload:
    """One person's turn; the session must have one. `names`: of the trip's people by place key."""
    turn = session.turn
    assert turn is not None
    call = turn.call
    zone = session.time_zone
    lines = [
        f"Car leaves {zoned_text(call.leaves_at, zone)}" if call.leaves_at else "You are in the hide already.",
        f"Seated {zoned_text(call.in_place_at, zone)}" if call.in_place_at else "",
        f"Session {zoned_text(session.starts_at, zone)} to {clock_text(session.ends_at)}",
        f"Fetched: {pick_up_words(turn)}",
        f"Yours in the shared seat: {own_hours_words(turn)}" if turn.own_hours else "",
        f"Car: {car_words(call)}" if call.leaves_at else "",
        f"Way: {way_words(turn, units)}",
        f"You are {company_words(turn, names)}.",
        SAME_DAY,
    ]
    return EventPayload(
        uid=uid,
        starts_at=session.starts_at,
        ends_at=session.ends_at,
        summary=f"{turn.where} ({session.kind})",
        description="\n".join(line for line in lines if line),
        location=meeting_text(site),
        alarm_min=_alarm(session.starts_at, call.leaves_at),
    )


def hide_event(
    uid: str, session: Session, time_zone: str, hide: OwnerHide, *, leaves_at: datetime | None, location: str
) -> EventPayload:
    """A hide in a session for the trip's or the owner's calendar, with everybody in it by seat."""
    lines = [
        f"Car leaves {zoned_text(leaves_at, time_zone)}" if leaves_at else "",
        f"Session {zoned_text(session.starts_at, time_zone)} to {clock_text(session.ends_at)}",
        f"Seated {hide.seated}, fetched {hide.pick_up}",
        *hide.people,
        f"Car: {hide.cars}" if hide.cars else "",
        f"Tasks: {isolated(hide.tasks)}" if hide.tasks else "",
        SAME_DAY,
    ]
    names = ", ".join(person.split(": ", 1)[-1] for person in hide.people)
    return EventPayload(
        uid=uid,
        starts_at=session.starts_at,
        ends_at=session.ends_at,
        summary=f"{isolated(hide.name)} ({session.kind}): {names}",
        description="\n".join(line for line in lines if line),
        location=location,
        alarm_min=_alarm(session.starts_at, leaves_at),
    )


def day_event(uid: str, first: date, last: date, summary: str, *, lines: Iterable[str], location: str) -> EventPayload:
    """A day-wide entry from one day to another, both included."""
    text = "\n".join(line for line in lines if line)
    return EventPayload(uid, first, last + timedelta(days=1), summary, text, location)


def _alarm(starts_at: datetime, leaves_at: datetime | None) -> int | None:
    if leaves_at is None:
        return None
    return max(0, round((starts_at - leaves_at).total_seconds() / 60)) + WAKE_MIN
