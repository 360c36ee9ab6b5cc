"""Mails of an issue wait in the database until a mail server has taken them, through refusals, kills and restores."""

import sqlite3
from collections import Counter
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from participants.models import Participant
from tests import factories
from tests.participants.mailroom import Letterbox, open_mailroom
from tests.trips.issued_trips import issue, seated_rota
from tests.trips.own_database import OwnDatabase
from tests.waiting import until
from trips.models import MailState, Notice
from trips.services.backup import backup_restore, backup_write
from trips.services.notices import CLAIM, MOST_TRIES, notice_tick, notices_send

pytestmark = pytest.mark.usefixtures("clock")
GONE = "p0@example.org"


@pytest.fixture
def mailroom(settings):
    settings.PUBLIC_URL = "http://testserver"
    with open_mailroom() as box:
        yield box


@pytest.fixture
def trip(db):
    """Four people with addresses, to whom the first rota was just issued."""
    trip = factories.planned_trip(people_count=4, hides=2, sessions=1)
    for number, place in enumerate(trip.places.all()):
        Participant.objects.filter(pk=place.participant.pk).update(email=f"p{number}@example.org")
    issue(seated_rota(trip))
    return trip


def addresses(box: Letterbox) -> list[str]:
    return sorted(mail["To"] for mail in box.mails)


def notice_of(trip, number=0) -> Notice:
    return Notice.objects.get(place=trip.places.all()[number])


def told_page(client, trip) -> str:
    client.force_login(trip.leader)
    return client.get(reverse("trips:told-list", args=[trip.uuid])).content.decode()


def test_a_temporary_refusal_fails_that_mail_alone_and_it_is_tried_again_with_growing_pauses(
    trip, mailroom, clock, client
):
    mailroom.busy.add(GONE)
    assert notices_send() == 3
    assert addresses(mailroom) == ["p1@example.org", "p2@example.org", "p3@example.org"]
    pauses = []
    for _ in range(3):
        notice = notice_of(trip)
        assert (notice.mail, notice.mail_fault, notice.told_at) == (MailState.WAITING, "address 451", None)
        pauses.append(round((notice.mail_due_at - timezone.now()).total_seconds()))
        assert notices_send() == 0
        clock.moment = notice.mail_due_at
        notices_send()
    assert pauses == [60, 120, 240]
    assert "The mail is tried again by itself: the mail server refuses the address (451)." in told_page(client, trip)
    mailroom.busy.clear()
    clock.moment += timedelta(hours=1)
    assert notices_send() == 1
    assert (notice_of(trip).mail, notice_of(trip).mail_fault) == (MailState.SENT, "")
    assert notice_of(trip).told_at is not None


def test_what_is_refused_for_good_says_why_and_is_sent_again_on_a_press(trip, mailroom, client):
    mailroom.refused.add(GONE)
    assert notices_send() == 3
    notice = notice_of(trip)
    assert (notice.mail, notice.mail_fault, notice.told_at) == (MailState.GIVEN_UP, "address 550", None)
    page = told_page(client, trip)
    assert "Mail not sent: the mail server refuses the address (550). Correct it, then send it again." in page
    assert page.count(" Send again<span") == 4  # who may not have got theirs may ask for another
    mailroom.refused.clear()
    client.post(reverse("trips:told-tick", args=[trip.uuid, notice.uuid]), {"tick": "send"})
    assert "The mail is on its way." in told_page(client, trip)
    assert notices_send() == 1
    assert addresses(mailroom).count(GONE) == 1
    assert notice_of(trip).told_at is not None


def test_a_mail_server_that_is_away_costs_one_try_a_round_and_no_mail(trip, mailroom, settings, clock):
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, 1
    assert notices_send() == 0
    assert Counter(Notice.objects.values_list("mail_fault", "mail_tries")) == {("away 0", 1): 1, ("", 0): 3}
    settings.EMAIL_PORT = port
    clock.moment += timedelta(minutes=1)
    assert notices_send() == 4


def test_after_a_day_of_tries_it_is_given_up(trip, mailroom):
    mailroom.busy.add(GONE)
    Notice.objects.update(mail_tries=MOST_TRIES - 1)
    notices_send()
    assert notice_of(trip).mail == MailState.GIVEN_UP


def test_a_mail_that_cannot_be_written_stops_nobody_else(trip, mailroom):
    Participant.objects.filter(email=GONE).update(email="a\nb@example.org")
    assert notices_send() == 3
    assert (notice_of(trip).mail, notice_of(trip).mail_fault) == (MailState.GIVEN_UP, "unwritten 0")


def test_a_later_mail_waits_for_the_earlier_one(trip, mailroom, clock):
    mailroom.busy.add(GONE)
    notices_send()
    issue(seated_rota(trip, moves={(0, 0): (1, 0), (2, 0): (0, 0)}))
    mailroom.busy.clear()
    notices_send()
    assert GONE not in addresses(mailroom)
    clock.moment += timedelta(hours=1)
    assert (notices_send(), notices_send()) == (1, 1)
    subjects = [mail["Subject"] for mail in mailroom.mails if mail["To"] == GONE]
    assert subjects == [f"{trip.name}: your days", f"{trip.name}: a change for you"]


def test_who_was_told_otherwise_gets_no_mail_that_still_waits(trip, mailroom):
    notice_tick(notice=notice_of(trip), tick="told", at=timezone.now())
    assert notices_send() == 3
    assert GONE not in addresses(mailroom)


def test_a_mail_under_way_is_claimed_until_its_claim_expires(trip, mailroom, clock):
    now = timezone.now()
    Notice.objects.filter(pk=notice_of(trip).pk).update(mail_due_at=now + CLAIM, mail_tries=1)
    assert notices_send() == 3
    clock.moment += CLAIM
    assert notices_send() == 1
    assert addresses(mailroom) == [f"p{number}@example.org" for number in range(4)]


def test_after_a_restore_no_mail_goes_out_by_itself(trip, mailroom, client):
    file = BytesIO()
    backup_write(file)
    file.seek(0)
    backup_restore(file, replace=True)
    assert notices_send() == 0
    assert told_page(client, trip).count("the backup that was restored does not know whether it went out") == 4


EIGHT_PEOPLE = """
from participants.models import Participant
from tests import factories
from tests.trips.issued_trips import issue, seated_rota
trip = factories.planned_trip(people_count=8, hides=4, sessions=1)
for number, person in enumerate(Participant.objects.order_by("pk")):
    Participant.objects.filter(pk=person.pk).update(email=f"p{number}@example.org")
issue(seated_rota(trip))
answer = 0
"""


def test_a_worker_killed_amid_its_mails_loses_none_and_the_next_one_sends_none_twice(tmp_path: Path) -> None:
    """Nothing but the rows leads the next worker to them."""
    own = OwnDatabase(tmp_path)
    own.program(EIGHT_PEOPLE)

    def mails(state: str) -> int:
        with sqlite3.connect(own.path, timeout=20) as database:
            found = "SELECT COUNT(*) FROM trips_notice WHERE mail = ? AND (told_at IS NOT NULL) = (mail = 'sent')"
            return int(database.execute(found, [state]).fetchone()[0])

    with open_mailroom() as box:
        own.environment["EMAIL_URL"] = f"smtp://127.0.0.1:{box.port}"
        box.most = 3
        first = own.worker()
        try:
            assert box.kept_waiting.wait(120)
        finally:
            first.kill()
            first.wait(timeout=30)
        assert (len(box.mails), mails("sent"), mails("waiting")) == (3, 3, 5)
        box.most = None
        second = own.worker()
        try:
            until(lambda: mails("sent") == 7, within_s=120, what="all but the one under way")
            with sqlite3.connect(own.path, timeout=20) as database:  # its claim expires
                database.execute("UPDATE trips_notice SET mail_due_at = '2020-01-01 00:00:00' WHERE mail = 'waiting'")
            until(lambda: mails("sent") == 8, within_s=120, what="that one too")
        finally:
            second.kill()
            second.wait(timeout=30)
        assert addresses(box) == [f"p{number}@example.org" for number in range(8)]
