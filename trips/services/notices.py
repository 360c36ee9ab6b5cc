"""Telling people of an issue: mails to those whom it changes something for, "I have read it", the leader's ticks."""

import logging
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from functools import partial
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import DatabaseError, transaction
from django.db.models import DateTimeField, F, Q, Subquery, Value
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils import timezone

from participants.core.errors import CoreError
from participants.core.isolation import isolated
from participants.mail import MailNotSent, leader_name, mail_send, public_address
from participants.speaking import ENGLISH, language_of, speaking
from trips.documents.changes import PageChange
from trips.documents.frozen_json import from_json
from trips.documents.wording.changes import change_sentence
from trips.models import Issue, MailState, Notice, Place
from trips.models.rota import OF_DAY, OF_ISSUE
from trips.selectors.day_notices import day_sentence
from trips.selectors.my import MyDays, my_days
from trips.selectors.told import addressee, is_told_by_leader, notices_due
from trips.services.busy import patiently
from trips.services.day_told import still_true
from trips.services.overdue import still_overdue

FIRST_PAUSE, LONGEST_PAUSE = timedelta(minutes=1), timedelta(hours=1)
MOST_TRIES = 30  # with these pauses about a day
CLAIM = timedelta(minutes=5)  # a mail takes less: EMAIL_TIMEOUT holds for each of its few steps
UNWRITTEN, RESTORED = "unwritten 0", "restored 0"

logger = logging.getLogger("fairhide")


def notices_write(*, issue: Issue, told: Iterable[Any], by: Any) -> None:
    """Note whom an issue affects (`told`: `Affected` each), and put their mails into the outbox.

    Called in the transaction of the issue, so that there is no issue without its mails.
    """
    trip, at, now = issue.rota.trip, issue.issued_at, timezone.now()
    Notice.objects.bulk_create(
        Notice(
            issue=issue,
            place=one.place,
            leader=one.leader,
            summary=one.summary,
            confirmed_at=at if one.leader is not None and one.leader == by else None,  # who issues it has seen it
            mail=MailState.NONE if is_told_by_leader(addressee(one.place, one.leader, trip)) else MailState.WAITING,
            mail_due_at=now,
        )
        for one in told
    )


def notices_send(*, is_over: Callable[[], bool] = lambda: False) -> int:
    """Send the mails that are due, until `is_over`; returns how many went out. Several workers may do so at once.

    At least once: a notice is claimed before its mail is sent and counts as told afterwards. Only a worker killed
    between the mail server's yes and the row has that one mail sent again, when its claim expires.
    """
    sent = 0
    for notice in notices_due(timezone.now()):
        if is_over():
            break
        until = timezone.now() + CLAIM
        free = Notice.objects.filter(pk=notice.pk, mail=MailState.WAITING, mail_due_at=notice.mail_due_at)
        if not free.update(mail_due_at=until, mail_tries=F("mail_tries") + 1):
            continue
        became = _sent(notice)
        claimed = Notice.objects.filter(pk=notice.pk, mail=MailState.WAITING, mail_due_at=until)
        patiently(partial(claimed.update, version=F("version") + 1, **became))
        sent += became.get("mail") == MailState.SENT
        if became.get("mail_fault", "").startswith("away"):
            break  # nor would it answer the others: one of them asks again at the next round
    return sent


def _sent(notice: Notice) -> dict[str, Any]:
    """Send one mail; what becomes of its row."""
    is_of_use = still_overdue if notice.happening is None else still_true
    if notice.session is not None and not is_of_use(notice, timezone.now()):
        return {"mail": MailState.NONE}
    if is_told_by_leader(addressee(notice.place, notice.leader, notice.issue.rota.trip)):  # since it was issued
        return {"mail": MailState.NONE}
    try:
        notice_mail_send(notice)
    except MailNotSent as refused:
        logger.warning("The mail of notice %s was not sent: %s", notice.pk, refused.fault)
        if refused.for_good or notice.mail_tries + 1 >= MOST_TRIES:
            return {"mail": MailState.GIVEN_UP, "mail_fault": refused.fault}
        pause = min(FIRST_PAUSE * 2 ** min(notice.mail_tries, 10), LONGEST_PAUSE)
        return {"mail_due_at": timezone.now() + pause, "mail_fault": refused.fault}
    except DatabaseError:
        raise  # it is tried again when its claim expires
    except Exception:
        logger.exception("The mail of notice %s could not be written.", notice.pk)
        return {"mail": MailState.GIVEN_UP, "mail_fault": UNWRITTEN}
    told_at = Coalesce(F("told_at"), Value(timezone.now()), output_field=DateTimeField())
    return {"mail": MailState.SENT, "mail_fault": "", "told_at": told_at}


def notices_hold() -> None:
    """After a restore no mail goes out by itself: it may have gone out since the backup was written."""
    Notice.objects.filter(mail=MailState.WAITING).update(mail=MailState.GIVEN_UP, mail_fault=RESTORED)


def notice_mail_send(notice: Notice) -> bool:
    """The mail to one person: what changed for them, or where their days stand for the first time."""
    if notice.session is not None and notice.happening is None:
        return _overdue_mail_send(notice)
    if notice.place is None:
        return _leader_mail_send(notice)
    place = notice.place
    person, days = place.participant, my_days(place, timezone.now())
    with speaking(language_of(person)):
        sentences = _sentences(notice, _changes(days, notice), person.units)
    context: dict[str, Any] = {
        "trip": place.trip,
        "number": notice.issue.rota.number,
        "on_the_day": notice.happening is not None,
        "sentences": sentences,
        "as_before": days.news.as_before and notice.happening is None,
        "times": days.news.times,
        "first": bool(notice.summary.get("first")),
        "address": public_address(reverse("trips:my-days", args=[person.uuid])),
        "leader": leader_name(person),
        "left": bool(notice.summary.get("left")),
    }
    return mail_send(person=person, template="trips/mail/notice", context=context)


def _leader_mail_send(notice: Notice) -> bool:
    """The mail to a leader with a seat, who reads the rota's page."""
    trip = notice.issue.rota.trip
    reader = addressee(None, notice.leader, trip)
    stored = [from_json(PageChange, one) for one in notice.summary.get("changes", [])]
    with speaking(ENGLISH):
        sentences = _sentences(notice, stored, trip.units)
    context = {
        "trip": trip,
        "number": notice.issue.rota.number,
        "on_the_day": notice.happening is not None,
        "sentences": sentences,
        "first": bool(notice.summary.get("first")),
        "address": public_address(reverse("trips:rota-show", args=[trip.uuid])),
        "leader": reader.name,
    }
    return mail_send(person=reader, template="trips/mail/notice", context=context)


def _overdue_mail_send(notice: Notice) -> bool:
    """The mail that says who is not back, and leads to what to do."""
    trip, session, hide = notice.issue.rota.trip, notice.session, notice.hide
    assert session is not None
    if hide is not None:
        path = f"{reverse('trips:emergency-show', args=[trip.uuid, hide.uuid])}#what-to-do"
    else:
        path = reverse("trips:out-show", args=[trip.uuid, session.uuid])
    context = {
        "trip": trip,
        "names": ", ".join(isolated(name) for name in notice.summary["overdue"]),
        "hide": isolated(hide.name) if hide else "",
        "ended": f"{session.ends_at.astimezone(ZoneInfo(session.site.time_zone)):%H:%M}",
        "address": public_address(path),
    }
    return mail_send(person=addressee(None, notice.leader, trip), template="trips/mail/overdue", context=context)


def _sentences(notice: Notice, changed: Iterable[PageChange], units: str) -> list[str]:
    """What a mail says, in the language in use."""
    if notice.happening is not None:
        return [day_sentence(notice)]
    return [change_sentence(one, units) for one in changed]


def _changes(days: MyDays, notice: Notice) -> list[PageChange]:
    """What this issue changed; nothing where it only takes back what the person had not read yet."""
    stored = notice.summary.get("changes", [])
    return [] if days.news.as_before else [from_json(PageChange, one) for one in stored]


def notices_read(*, place: Place, issue_uuid: UUID, at: datetime, day_uuid: UUID | None = None) -> None:
    """The person read, at that moment, everything that they were told up to an issue of their trip.

    `day_uuid`: the last notice of a move under way that their page showed; later ones stay unread.
    """
    shown = Issue.objects.filter(uuid=issue_uuid, rota__trip=place.trip_id).values("issued_at")
    last = Notice.objects.filter(uuid__in=[day_uuid] if day_uuid else [], place=place).values("pk")
    of_day = OF_DAY & Q(pk__lte=Subquery(last))
    told = Notice.objects.filter(place=place, read_at__isnull=True, issue__issued_at__lte=Subquery(shown))
    told.filter(OF_ISSUE | of_day).update(read_at=at, confirmed_at=at, version=F("version") + 1)


SEND = "send"
TICKS = ("told", "untold", "confirmed", "unconfirmed", SEND)


class ReadByPerson(CoreError):
    """A tick that the person set by reading the page stays: `name`."""


@transaction.atomic
def notice_tick(*, notice: Notice, tick: str, at: datetime) -> None:
    """Set or take back a tick; whoever confirms was told. The first moment stays, however often it is ticked.

    SEND puts the mail into the outbox again; whoever was told otherwise meanwhile gets no mail that still waits.
    `ReadByPerson` where the person read it on their own page: that is not taken back.
    """
    row = Notice.objects.filter(pk=notice.pk)
    if tick == SEND:
        again = {"mail": MailState.WAITING, "mail_due_at": timezone.now(), "mail_tries": 0, "mail_fault": ""}
        row.update(version=F("version") + 1, **again)
        return
    stored = row.select_for_update(of=("self",)).select_related("place__participant").get()
    if tick in ("untold", "unconfirmed") and stored.read_at is not None and stored.place is not None:
        raise ReadByPerson(name=stored.place.participant.name)
    told, confirmed = stored.told_at, stored.confirmed_at
    if tick in ("told", "confirmed"):
        told = told or at
        confirmed = (confirmed or at) if tick == "confirmed" else confirmed
    else:
        told, confirmed = None if tick == "untold" else told, None
    if told:
        row.filter(mail=MailState.WAITING).update(mail=MailState.NONE)
    row.update(told_at=told, confirmed_at=confirmed, version=F("version") + 1)
