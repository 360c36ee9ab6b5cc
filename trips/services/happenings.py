"""What is noted on the day: appended, never altered, each once; a mistake is undone by another happening."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from participants.core.errors import CoreError
from trips.core.day import PersonNow, SessionNow
from trips.models import Car, Happening, HappeningKind, Hide, HideState, Seat, Session, SessionHide, Trip
from trips.selectors.day_state import DayPerson, session_day
from trips.services.day_told import day_tell, undo_tell
from trips.tasks.overdue import overdue_watch_set

Kind = HappeningKind
CLOCKS_DIFFER = timedelta(minutes=1)  # a moment so little ahead is this minute on another clock
# What can only be noted of a session that is not over.
DURING = (Kind.NOT_COMING, Kind.LATE, Kind.MOVED, Kind.LEFT_EARLY, Kind.HIDE_CLOSED, Kind.HIDE_OPEN)
MAY_BE_MISSED = (Kind.OUT, Kind.MOVED, Kind.OVERDUE_NOTED, Kind.REACHED)
OF_THE_SEATED = (Kind.BACK, Kind.LATE, Kind.LEFT_EARLY, Kind.OVERDUE_NOTED, Kind.REACHED)


class NotNoted(CoreError):
    """Something that was not noted: `why` (a key of the sentences in `wording/happenings`), and what they name."""

    @property
    def stands_already(self) -> bool:
        """Whether all is as was wanted, so that nothing is left to do."""
        return self.data["why"] in ("ticked", "twice", "nothing")


@dataclass(frozen=True)
class Said:
    """What somebody says happened, and when."""

    kind: str
    at: datetime
    by: Any = None
    session: Session | None = None
    who: DayPerson | None = None
    hide: Hide | None = None
    seat: Seat | None = None
    car: Car | None = None
    until_at: datetime | None = None
    note: str = ""


@transaction.atomic
def happening_note(*, trip: Trip, said: Said, now: datetime) -> Happening:
    """Note one thing. Raises NotNoted."""
    if said.at > now + CLOCKS_DIFFER:
        raise NotNoted(why="future", at=said.at)
    if said.session is None:
        return _append(trip, said)
    made = _append(trip, _checked(said, now))
    day_tell(made, now=now)
    return made


def _checked(said: Said, now: datetime) -> Said:
    """What is noted of a session, its seat and hide filled in. Raises NotNoted."""
    assert said.session is not None
    session = Session.objects.select_for_update().select_related("site", "trip").get(pk=said.session.pk)
    if said.kind in DURING and said.at > session.ends_at:
        raise NotNoted(why="over", at=session.ends_at)
    day = session_day(session, now=max(now, said.at))
    state = day.state.sessions[0]
    if said.who is not None:
        person = state.person(said.who.key)
        if person is None and said.kind in OF_THE_SEATED:
            raise NotNoted(why="no_seat", name=said.who.name)
        CHECKS.get(said.kind, _anything)(said, person)
    if said.kind == Kind.OUT and said.hide is None and said.who is not None:
        person = state.person(said.who.key)
        if person is None or person.hide not in day.hides:
            raise NotNoted(why="no_seat", name=said.who.name)
        said = replace(said, hide=day.hides[person.hide])
    if said.kind == Kind.MOVED:
        said = replace(said, seat=_seat_for(said, session, state))
    if said.kind in (Kind.HIDE_CLOSED, Kind.HIDE_OPEN) and said.hide is not None:
        closed = state.closed.get(str(said.hide.uuid))
        if (closed is not None) == (said.kind == Kind.HIDE_CLOSED):
            why = "closed_twice" if closed else "open_already"
            raise NotNoted(why=why, name=said.hide.name, at=closed and closed.at, by=closed.by if closed else "")
    return said


@transaction.atomic
def places_swap(*, trip: Trip, said: Said, people: tuple[DayPerson, DayPerson], now: datetime) -> None:
    """Two people of a session that goes on change seats: two moves of one moment. Raises NotNoted."""
    assert said.session is not None
    session = Session.objects.select_for_update().select_related("trip").get(pk=said.session.pk)
    if said.at > session.ends_at:
        raise NotNoted(why="over", at=session.ends_at)
    day = session_day(session, now=max(now, said.at))
    there = []
    for who in people:
        person = day.state.sessions[0].person(who.key)
        if person is None or person.hide not in day.hides or person.standing in ("back", "not_coming"):
            raise NotNoted(why="no_seat", name=who.name)
        there.append((day.hides[person.hide], Seat.objects.filter(uuid=person.seat).first() if person.seat else None))
    moves = zip(people, reversed(there), strict=True)
    made = [_append(trip, replace(said, kind=Kind.MOVED, who=who, hide=hide, seat=seat)) for who, (hide, seat) in moves]
    for one in made:
        day_tell(one, now=now)


@transaction.atomic
def happenings_note(*, trip: Trip, people: list[DayPerson], said: Said, now: datetime) -> None:
    """Note the same of several people or of a hide, or take back the last of each person (`kind` undo).

    Of one person or a hide NotNoted is raised; of several, those it does not go for are left as they are.
    """
    if not people:
        happening_note(trip=trip, said=said, now=now)
    for who in people:
        own = replace(said, who=who)
        try:
            if said.kind == "undo":
                person_undo(trip=trip, said=own, now=now)
            else:
                happening_note(trip=trip, said=own, now=now)
        except NotNoted:
            if len(people) == 1:
                raise


@transaction.atomic
def person_undo(*, trip: Trip, said: Said, now: datetime) -> None:
    """Take back the last thing noted of a person in a session, with its doubles. Raises NotNoted."""
    assert said.session is not None
    assert said.who is not None
    session = Session.objects.select_for_update().select_related("trip").get(pk=said.session.pk)
    person = session_day(session, now=max(now, said.at)).state.sessions[0].person(said.who.key)
    if person is None or not person.last:
        raise NotNoted(why="nothing", name=said.who.name)
    keys = [one.key for one in person.last]
    for row in Happening.objects.filter(trip=trip, uuid__in=keys):
        happening_undo(row=row, by=said.by, at=said.at, note=said.note)


def happening_undo(*, row: Happening, by: Any, at: datetime, note: str = "") -> Happening:
    """Take one happening back, an undo among them. Raises NotNoted where that was done already."""
    others = list(Happening.objects.filter(undoes=row))
    if any(not other.undone_by.exists() for other in others):
        raise NotNoted(why="undone", at=others[-1].at)
    columns = ("trip", "kind", "session", "place", "leader", "hide", "seat", "car", "until_at")
    same = {name: getattr(row, name) for name in columns}
    made = Happening.objects.create(**same, at=max(at, row.at), by=by, note=note, undoes=row)
    undo_tell(made, now=timezone.now())
    _watched(made)
    return made


def _append(trip: Trip, said: Said) -> Happening:
    who = {"place": said.who.place, "leader": None if said.who.place else said.who.leader} if said.who else {}
    made = Happening.objects.create(
        trip=trip,
        kind=said.kind,
        session=said.session,
        hide=said.hide,
        seat=said.seat,
        car=said.car,
        at=said.at,
        until_at=said.until_at,
        by=said.by,
        note=said.note[:300],
        **who,
    )
    _watched(made)
    return made


def _watched(made: Happening) -> None:
    """What comes in after its session may mean that somebody is overdue: a worker looks again."""
    now = timezone.now()
    is_late = made.session is not None and made.session.ends_at < now
    if made.session is not None and is_late and (made.undoes_id or made.kind in MAY_BE_MISSED):
        overdue_watch_set([made.session], now=now)


def _anything(said: Said, person: PersonNow | None) -> None:
    """Nothing speaks against it."""


def _out(said: Said, person: PersonNow | None) -> None:
    """Out, unless the same time out is noted already; the earlier moment stays."""
    began = (person.out_at or person.back_at) if person else None
    if person and began and said.at >= began and (person.back_at is None or said.at < person.back_at):
        raise _ticked(said, person, began)


def _back(said: Said, person: PersonNow | None) -> None:
    """Back, also where nobody ticked them out; the earlier moment stays, unless somebody saw them out since."""
    if person and person.back_at and not person.doubted and said.at >= person.back_at:
        raise _ticked(said, person, person.back_at)
    if person and person.out_at and said.at < person.out_at:
        raise NotNoted(why="back_before_out", name=_name(said), at=person.out_at)


def _not_coming(said: Said, person: PersonNow | None) -> None:
    if person and (person.out_at or person.back_at):
        raise NotNoted(why="out_before", name=_name(said), at=person.out_at or person.back_at)
    if person and person.not_coming:
        raise NotNoted(why="twice", name=_name(said), at=person.not_coming.at, by=person.not_coming.by)


def _late(said: Said, person: PersonNow | None) -> None:
    if said.until_at is None or said.until_at <= said.at:
        raise NotNoted(why="no_until", name=_name(said))
    if person and person.out_at:
        raise NotNoted(why="out_before", name=_name(said), at=person.out_at)
    if person and person.late and person.late.until_at == said.until_at:
        raise NotNoted(why="twice", name=_name(said), at=person.late.at, by=person.late.by)


def _left_early(said: Said, person: PersonNow | None) -> None:
    if person and person.left_at:
        raise NotNoted(why="twice", name=_name(said), at=person.left_at)


def _moved(said: Said, person: PersonNow | None) -> None:
    here = said.hide is not None and person is not None and person.hide == str(said.hide.uuid)
    if here and person and (said.seat is None or person.seat == str(said.seat.uuid)):
        raise NotNoted(why="there_already", name=_name(said), hide=said.hide.name if said.hide else "")


CHECKS: dict[str, Callable[[Said, PersonNow | None], None]] = {
    Kind.OUT: _out,
    Kind.BACK: _back,
    Kind.NOT_COMING: _not_coming,
    Kind.LATE: _late,
    Kind.LEFT_EARLY: _left_early,
    Kind.MOVED: _moved,
}


def _seat_for(said: Said, session: Session, state: SessionNow) -> Seat:
    """The seat asked for, or the first that is free. Raises NotNoted for a hide elsewhere, closed or full."""
    hide = said.hide
    if hide is None or hide.site_id != session.site_id:
        raise NotNoted(why="elsewhere", name=hide.name if hide else "")
    say = SessionHide.objects.filter(session=session, hide=hide, state=HideState.UNAVAILABLE).first()
    closed = state.closed.get(str(hide.uuid))
    if closed is not None or say is not None:
        raise NotNoted(why="closed", name=hide.name, at=closed and closed.at, reason=say.reason if say else "")
    there = [one for one in state.seated(str(hide.uuid)) if said.who is None or one.person != said.who.key]
    taken = {one.seat for one in there}
    free = [
        seat
        for seat in hide.seats.all()
        if str(seat.uuid) not in taken and (seat.out_of_use_from is None or seat.out_of_use_from >= session.ends_at)
    ]
    if said.seat is not None and said.seat not in free:
        raise NotNoted(why="seat_taken", name=said.seat.name, hide=hide.name)
    if not free:
        raise NotNoted(why="full", name=hide.name, number=len(there))
    return said.seat or free[0]


def _ticked(said: Said, person: PersonNow, at: datetime) -> NotNoted:
    by = next((one.by for one in person.last if one.at == at), "")
    return NotNoted(why="ticked", name=_name(said), at=at, by=by)


def _name(said: Said) -> str:
    return said.who.name if said.who else ""
