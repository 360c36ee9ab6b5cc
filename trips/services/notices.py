"""Telling people of an issue: mails to those whom it changes something for, "I have read it", the leader's ticks."""

import smtplib
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F, Subquery
from django.urls import reverse
from django.utils import timezone

from participants.core.errors import CoreError
from participants.mail import leader_name, mail_send, public_address
from participants.services import submission_first
from participants.speaking import ENGLISH, language_of, speaking
from trips.documents.changes import PageChange
from trips.documents.frozen_json import from_json
from trips.documents.wording.changes import change_sentence
from trips.models import Issue, Notice, Place
from trips.selectors.my import MyDays, my_days, notices_untold
from trips.selectors.told import addressee


class NotAllSent(Exception):
    """Some mails were refused by the mail server: `names`. Send again to try those once more."""

    def __init__(self, names: list[str]) -> None:
        self.names = names
        super().__init__(f"not sent to: {', '.join(names)}")


def notices_send(*, issue_uuid: UUID | str) -> int:
    """Mail everybody whom the issue changes something for, once each. Returns how many mails went out.

    A notice is claimed before its mail is sent, so two workers never tell anybody twice; a refused mail is given back.
    """
    issue = Issue.objects.get(uuid=issue_uuid)
    sent, refused = 0, []
    for notice in notices_untold(issue):
        claimed = Notice.objects.filter(pk=notice.pk, told_at__isnull=True)
        if not claimed.update(told_at=timezone.now(), version=F("version") + 1):
            continue
        try:
            notice_mail_send(notice)
            sent += 1
        except (OSError, smtplib.SMTPException):
            Notice.objects.filter(pk=notice.pk).update(told_at=None, version=F("version") + 1)
            refused.append(addressee(notice.place, notice.leader, issue.rota.trip).name)
    if refused:
        raise NotAllSent(refused)
    return sent


def notice_mail_send(notice: Notice) -> bool:
    """The mail to one person: what changed for them, or where their days stand for the first time."""
    if notice.place is None:
        return _leader_mail_send(notice)
    place = notice.place
    person, days = place.participant, my_days(place)
    with speaking(language_of(person)):
        sentences = [change_sentence(one, person.units) for one in _changes(days, notice)]
    context: dict[str, Any] = {
        "trip": place.trip,
        "number": notice.issue.rota.number,
        "sentences": sentences,
        "as_before": days.news.as_before,
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
        sentences = [change_sentence(one, trip.units) for one in stored]
    context = {
        "trip": trip,
        "number": notice.issue.rota.number,
        "sentences": sentences,
        "first": bool(notice.summary.get("first")),
        "address": public_address(reverse("trips:rota-show", args=[trip.uuid])),
        "leader": reader.name,
    }
    return mail_send(person=reader, template="trips/mail/notice", context=context)


def _changes(days: MyDays, notice: Notice) -> list[PageChange]:
    """What this issue changed; nothing where it only takes back what the person had not read yet."""
    stored = notice.summary.get("changes", [])
    return [] if days.news.as_before else [from_json(PageChange, one) for one in stored]


def notices_read(*, place: Place, issue_uuid: UUID, at: datetime) -> None:
    """The person read, at that moment, everything that they were told up to an issue of their trip."""
    shown = Issue.objects.filter(uuid=issue_uuid, rota__trip=place.trip_id).values("issued_at")
    told = Notice.objects.filter(place=place, read_at__isnull=True, issue__issued_at__lte=Subquery(shown))
    told.update(read_at=at, confirmed_at=at, version=F("version") + 1)


TICKS = ("told", "untold", "confirmed", "unconfirmed")


class ReadByPerson(CoreError):
    """A tick that the person set by reading the page stays: `name`."""


@transaction.atomic
def notice_tick(*, notice: Notice, tick: str, at: datetime, client_uuid: UUID | None = None) -> None:
    """Set or take back a tick; whoever confirms was told. The first moment stays, however often it is ticked.

    `ReadByPerson` where the person read it on their own page: that is not taken back.
    """
    if not submission_first(person=None, client_uuid=client_uuid, kind="told"):
        return
    stored = Notice.objects.select_for_update(of=("self",)).select_related("place__participant").get(pk=notice.pk)
    if tick in ("untold", "unconfirmed") and stored.read_at is not None and stored.place is not None:
        raise ReadByPerson(name=stored.place.participant.name)
    told, confirmed = stored.told_at, stored.confirmed_at
    if tick in ("told", "confirmed"):
        told = told or at
        confirmed = (confirmed or at) if tick == "confirmed" else confirmed
    else:
        told, confirmed = None if tick == "untold" else told, None
    Notice.objects.filter(pk=notice.pk).update(told_at=told, confirmed_at=confirmed, version=F("version") + 1)
