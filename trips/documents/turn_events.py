"""Calendar entries in words: what a person, the leaders and the owner read of a turn on their telephones."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from trips.core.values import Session
from trips.documents.briefing_pages import best_lens, best_light
from trips.documents.days import SessionPage, SitePage, TurnPage
from trips.documents.ical import EventPayload
from trips.documents.owner_sheet import OwnerHide
from trips.documents.quantities import clock_range_text, clock_text, day_text, offset_text, position_text
from trips.documents.wording.days import (
    car_words,
    company_words,
    drive_sentences,
    own_hours_words,
    pick_up_words,
    unsettled_words,
    way_words,
)

WAKE_MIN = 30  # before the car leaves
COMING_MIN = 30  # how long an arrival or a departure lasts in a calendar
SAME_DAY = noted("Calendars on telephones can lag by a day: on the day itself trust the page, the paper or the leader.")


def meeting_text(site: SitePage | None) -> str:
    """The meeting point with its position: where people arrive."""
    if site is None:
        return ""
    position = ""
    if site.meeting_latitude_deg is not None and site.meeting_longitude_deg is not None:
        position = position_text(site.meeting_latitude_deg, site.meeting_longitude_deg)
    point = isolated(site.meeting_point or site.lodge or site.name)
    return f"{point} ({position})" if position else point


def boarding_text(site: SitePage | None) -> str:
    """Where people get into the cars: the lodge, or the meeting point where the site says so."""
    if site is None or site.cars_leave_from == "meeting" or not site.lodge.strip():
        return meeting_text(site)
    return isolated(site.lodge)


def person_event(
    uid: str, session: SessionPage, site: SitePage | None, units: str, names: Mapping[str, str]
) -> EventPayload:
    """One person's turn; the session must have one. `names`: of the trip's people by place key.

    It lasts from when the car leaves until it is back; for who is in the hide already it begins with the session.
    """
    turn = session.turn
    assert turn is not None
    call = turn.call
    starts_at = call.leaves_at or session.starts_at
    lines = [
        best_lens(turn),
        _("Light: {light}", light=best_light(turn)) if turn.views else "",
        _("Seated {clock}", clock=clock_text(call.in_place_at))
        if call.leaves_at and call.in_place_at
        else _("You are there already."),
        _("Session {hours}", hours=clock_range_text(session.starts_at, session.ends_at)),
        *drive_sentences(session),
        "" if session.fetches else _fetched(turn),
        _("Yours in the shared seat: {hours}", hours=own_hours_words(turn)) if turn.own_hours else "",
        _("Car: {car}", car=car_words(call)) if call.leaves_at else "",
        unsettled_words(call),
        _("Way: {way}", way=way_words(turn, units)),
        _("You are {company}.", company=company_words(turn, names)),
        _clock(starts_at, session.time_zone),
        _(SAME_DAY),
    ]
    return EventPayload(
        uid=uid,
        starts_at=starts_at,
        ends_at=max(session.ends_at, call.back_at or call.pick_up_to or session.ends_at),
        summary=_title(call.leaves_at, turn.where),
        description="\n".join(line for line in lines if line),
        location=boarding_text(site),
        alarm_min=WAKE_MIN if call.leaves_at else None,
    )


def drive_event(uid: str, session: SessionPage, site: SitePage | None) -> EventPayload:
    """What somebody without a turn drives in a session; it has such a drive."""
    first = min(session.drives, key=lambda drive: drive.leaves_at)
    lines = [
        *drive_sentences(session),
        _("Session {hours}", hours=clock_range_text(session.starts_at, session.ends_at)),
        _clock(first.leaves_at, session.time_zone),
        _(SAME_DAY),
    ]
    return EventPayload(
        uid=uid,
        starts_at=first.leaves_at,
        ends_at=max(drive.back_at for drive in session.drives),
        summary=_title(first.leaves_at, _("you drive {car}", car=isolated(first.car) or _("the car"))),
        description="\n".join(lines),
        location=boarding_text(site),
        alarm_min=WAKE_MIN,
    )


def _fetched(turn: TurnPage) -> str:
    return _("Fetched {hours}", hours=pick_up_words(turn)) if turn.call.pick_up_from else pick_up_words(turn)


def hide_event(
    uid: str, session: Session, time_zone: str, hide: OwnerHide, *, leaves_at: datetime | None, location: str
) -> EventPayload:
    """A hide in a session for the trip's or the owner's calendar, with everybody in it by seat."""
    starts_at = leaves_at or session.starts_at
    lines = [
        _("Seated {clock}, fetched {hours}", clock=hide.seated, hours=hide.pick_up),
        _("Session {hours}", hours=clock_range_text(session.starts_at, session.ends_at)),
        *hide.people,
        _("Car: {car}", car=hide.cars) if hide.cars else "",
        _("Tasks: {tasks}", tasks=isolated(hide.tasks)) if hide.tasks else "",
        _clock(starts_at, time_zone),
        _(SAME_DAY),
    ]
    names = ", ".join(person.split(": ", 1)[-1] for person in hide.people)
    return EventPayload(
        uid=uid,
        starts_at=starts_at,
        ends_at=session.ends_at,
        summary=f"{_title(leaves_at, isolated(hide.name))}: {names}",
        description="\n".join(line for line in lines if line),
        location=location,
        alarm_min=WAKE_MIN if leaves_at else None,
    )


def day_event(uid: str, first: date, last: date, summary: str, *, lines: Iterable[str], location: str) -> EventPayload:
    """A day-wide entry from one day to another, both included."""
    text = "\n".join(line for line in lines if line)
    return EventPayload(uid, first, last + timedelta(days=1), summary, text, location)


def coming_event(uid: str, at: datetime, summary: str, *, time_zone: str, location: str) -> EventPayload:
    """Somebody's arrival or departure, at its hour."""
    ends_at = at + timedelta(minutes=COMING_MIN)
    return EventPayload(uid, at, ends_at, f"{clock_text(at)} {summary}", _clock(at, time_zone), location)


def _title(leaves_at: datetime | None, where: str) -> str:
    """What a telephone shows first: "Leave 05:57 - Alder, left"."""
    if leaves_at is None:
        return _("Stay - {where}", where=where)
    return _("Leave {clock} - {where}", clock=clock_text(leaves_at), where=where)


def _clock(moment: datetime, time_zone: str) -> str:
    """The day and whose clock all times are: "Saturday 8 May, clock of Europe/Madrid (UTC+02:00)"."""
    values = {"day": day_text(moment.date()), "zone": time_zone, "offset": offset_text(moment)}
    return _("{day}, clock of {zone} ({offset})", **values)
