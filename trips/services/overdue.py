"""Telling the co-leaders by mail that somebody is overdue: once for each hide and session, through the outbox."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from trips.models import Issue, MailState, Notice, RotaState, Session
from trips.selectors.day_state import rules_of, trip_day
from trips.selectors.told import addressee, is_told_by_leader


@transaction.atomic
def overdue_tell(*, session: Session, now: datetime) -> datetime | None:
    """Put a mail into the outbox for each hide whose people are overdue for as long as the trip's rules say.

    Returns when somebody else of the session will be overdue for so long, None where nobody is waited for. It goes to
    the co-leaders, or, where there are none, to the leader. Without an issued rota nobody is told.
    """
    Session.objects.select_for_update().get(pk=session.pk)
    issue = Issue.objects.filter(rota__trip=session.trip_id, rota__state=RotaState.ISSUED).only("pk").first()
    if issue is None:
        return None
    day, wait = trip_day(session.trip, now=now, session=session), timedelta(minutes=_mail_min(session))
    missing: dict[str, list[str]] = {}
    later: list[datetime] = []
    for person in day.state.sessions[0].people:
        if person.due_at is None or person.standing in ("back", "not_coming"):
            continue
        if person.due_at + wait > now:
            later.append(person.due_at + wait)
        elif person.is_overdue:
            missing.setdefault(person.hide, []).append(day.people[person.person].name)
    for hide, names in missing.items():
        _notices_write(issue, session, day.hides.get(hide), {"overdue": sorted(names)})
    return min(later, default=None)


def _mail_min(session: Session) -> float:
    return rules_of(session.trip).overdue_mail_min


def _notices_write(issue: Issue, session: Session, hide: Any, summary: dict[str, Any]) -> None:
    trip = session.trip
    for leader in list(trip.co_leaders.order_by("pk")) or [trip.leader]:
        is_mailed = not is_told_by_leader(addressee(None, leader, trip))
        mail = {"mail": MailState.WAITING, "mail_due_at": timezone.now()} if is_mailed else {}
        values = {"issue": issue, "summary": summary, **mail}
        Notice.objects.get_or_create(session=session, hide=hide, leader=leader, defaults=values)


def still_overdue(notice: Notice, now: datetime) -> tuple[str, ...]:
    """Who of those a notice is about is overdue now: a mail that was held up tells of nobody who is back since."""
    assert notice.session is not None
    day = trip_day(notice.session.trip, now=now, session=notice.session)
    hide = str(notice.hide.uuid) if notice.hide else ""
    return tuple(day.people[person.person].name for _, person in day.state.overdue if person.hide == hide)
