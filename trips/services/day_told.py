"""Telling those whom a move under way touches: no issue follows it, so each gets one mail and a mark on their page."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from trips.assemble.repairs import departed
from trips.assemble.trip import trip_values
from trips.core.day import PersonNow
from trips.models import Happening, HappeningKind, Issue, MailState, Notice, RotaState, Session, Trip
from trips.models.rota import OF_DAY
from trips.selectors.day_notices import is_undone
from trips.selectors.day_state import DayPerson, session_day
from trips.selectors.told import addressee, is_told_by_leader

EARLIEST_CAR = timedelta(hours=12)  # before its session: what is further off needs no look at the drives
CHANGES_PLACES = (HappeningKind.MOVED, HappeningKind.HIDE_CLOSED, HappeningKind.HIDE_OPEN)


def has_left(trip: Trip, session: Session, hides: set[int], now: datetime) -> bool:
    """Whether a session goes on, or the car to one of these hides (row ids) has left: then it is no plan any more."""
    issued = trip.rotas.filter(state=RotaState.ISSUED).first()
    if session.starts_at <= now or session.starts_at > now + EARLIEST_CAR or issued is None:
        return session.starts_at <= now
    values = trip_values(trip)
    number = [row.pk for row in values.session_rows].index(session.pk)
    left = {hide for when, hide in departed(issued, values, past=number, now=now) if when == number}
    return any(values.hide_rows[hide].pk in hides for hide in left)


def day_tell(made: Happening, *, now: datetime) -> None:
    """Put a mail into the outbox for each person whom a move touches, or a hide that closes or opens under way.

    Called in the transaction of the happening. Nobody is told without an issued rota, or once the session is over.
    """
    session, hide = made.session, made.hide
    if session is None or hide is None or made.kind not in CHANGES_PLACES or session.ends_at <= now:
        return
    day = session_day(session, now=max(now, made.at))
    seated = day.state.sessions[0].seated(str(hide.uuid))
    if made.kind == HappeningKind.MOVED:
        _superseded(made)
        own = [one for one in day.people.values() if (one.place or one.leader) == (made.place or made.leader)]
        _told(made, {one.key: one for one in own} | _people(day.people, seated))
    elif made.kind == HappeningKind.HIDE_OPEN:
        shut = Notice.objects.filter(session=session, happening__hide=hide, happening__kind=HappeningKind.HIDE_CLOSED)
        knows = set(shut.values_list("place", "leader"))
        found = _people(day.people, seated).items()
        _told(made, {key: one for key, one in found if _columns(one) in knows})
    elif seated and has_left(session.trip, session, {hide.pk}, made.at):
        _told(made, _people(day.people, seated))


def undo_tell(made: Happening, *, now: datetime) -> None:
    """Tell those who were told of what an undo takes back; a mail that still waits just stays away."""
    root, depth = made, 0
    while root.undoes is not None:
        root, depth = root.undoes, depth + 1
    if made.session is None or made.session.ends_at <= now:
        return
    told = root.notices.select_related("place", "leader", "issue")
    if depth % 2:
        unsent = set(told.filter(mail=MailState.WAITING, mail_tries=0).values_list("pk", flat=True))
        Notice.objects.filter(pk__in=unsent, mail=MailState.WAITING, mail_tries=0).update(mail=MailState.NONE)
        told = told.exclude(pk__in=unsent)
    for one in told:
        _notice(made, one.issue, one.place, one.leader)


def still_true(notice: Notice, now: datetime) -> bool:
    """Whether a mail about a move is worth sending: its session goes on, and nobody took it back."""
    assert notice.session is not None
    assert notice.happening is not None
    return notice.session.ends_at > now and not is_undone(notice.happening)


def _people(people: dict[str, DayPerson], seated: Iterable[PersonNow]) -> dict[str, DayPerson]:
    return {one.person: people[one.person] for one in seated}


def _columns(who: DayPerson) -> tuple[int | None, int | None]:
    return (who.place.pk, None) if who.place else (None, who.leader.pk)


def _superseded(made: Happening) -> None:
    """Where somebody sat in between is no news: a mail about that which still waits stays away."""
    before = Notice.objects.filter(
        OF_DAY, session=made.session, place=made.place, leader=made.leader, mail=MailState.WAITING, mail_tries=0
    )
    closed = before.filter(happening__kind=HappeningKind.HIDE_CLOSED)
    moved = before.filter(happening__place=made.place, happening__leader=made.leader)
    for waiting in (closed, moved):
        waiting.update(mail=MailState.NONE)


def _told(made: Happening, people: dict[str, DayPerson]) -> None:
    issue = Issue.objects.filter(rota__trip=made.trip_id, rota__state=RotaState.ISSUED).only("pk").first()
    for who in people.values() if issue is not None else ():
        _notice(made, issue, who.place, None if who.place else who.leader)


def _notice(made: Happening, issue: Any, place: Any, leader: Any) -> None:
    """One notice; whoever noted it knows."""
    knows = leader is not None and leader == made.by
    is_mailed = not knows and not is_told_by_leader(addressee(place, leader, made.trip))
    mail = {"mail": MailState.WAITING, "mail_due_at": timezone.now()} if is_mailed else {}
    values = {"issue": issue, "session": made.session, "confirmed_at": made.at if knows else None, **mail}
    Notice.objects.get_or_create(happening=made, place=place, leader=leader, defaults=values)
