"""Mails that tell people of an issue, by a real mail server."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from participants.models import Participant
from tests import factories
from tests.participants.mailroom import open_mailroom
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.models import Issue, Notice
from trips.services.notices import notices_read, notices_send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def mailroom(settings):
    settings.PUBLIC_URL = "http://testserver"
    with open_mailroom() as box:
        yield box


@pytest.fixture
def trip():
    trip = issued_trip(people=4, hides=3, sessions=2)
    for number, place in enumerate(trip.places.all()):
        Participant.objects.filter(pk=place.participant.pk).update(email=f"p{number}@example.org")
    Notice.objects.update(told_at="2027-01-01T00:00:00Z", read_at="2027-01-01T00:00:00Z", mail="")
    return trip


def moved(trip):
    """The first person moves in the second session, driven by a car of their own hide."""
    for hide in trip.sites.get().hides.all():
        car = trip.cars.get_or_create(name=f"Car to {hide.name}")[0]
        for session in trip.sessions.all():
            run, fresh = session.runs.get_or_create(car=car)
            if fresh:
                run.stops.create(hide=hide, position=1)
    return issue(seated_rota(trip, moves={(0, 1): (2, 0)}))


def test_only_those_affected_get_a_mail_and_it_says_what_changed(trip, mailroom):
    moved(trip)  # with a car for each hide nobody else's leaving depends on who sits where
    Notice.objects.update(mail="")
    issue(seated_rota(trip, moves={(0, 1): (2, 1)}))
    notices_send()
    assert [mail["To"] for mail in mailroom.mails] == ["p0@example.org"]
    text = mailroom.text()
    assert "another seat" in text
    assert "can lag by a day" in text


def test_the_link_in_the_mail_leads_to_the_persons_days(trip, mailroom):
    place = trip.places.first()
    moved(trip)
    notices_send()
    first = next(index for index, mail in enumerate(mailroom.mails) if mail["To"] == "p0@example.org")
    path = re.search(r"http://testserver(/my/\S+)", mailroom.text(first))[1]
    assert phone_of(place.participant).get(path).status_code == 200
    assert f'href="http://testserver{path}"' in mailroom.html(first)
    assert "/in/" not in mailroom.text(first)


def test_a_second_sending_tells_nobody_twice(trip, mailroom):
    moved(trip)
    sent = notices_send()
    assert sent == len(mailroom.mails) > 0
    assert notices_send() == 0
    assert len(mailroom.mails) == sent


def test_nobody_without_an_address_stops_the_others(trip, mailroom):
    Participant.objects.filter(email="p0@example.org").update(email="")
    moved(trip)
    notices_send()
    assert "p0@example.org" not in {mail["To"] for mail in mailroom.mails}


def test_who_reads_on_paper_gets_no_mail(trip, mailroom):
    Participant.objects.filter(email="p0@example.org").update(on_paper=True)
    row = moved(trip)
    notices_send()
    assert "p0@example.org" not in {mail["To"] for mail in mailroom.mails}
    assert Notice.objects.get(issue=row, place=trip.places.first()).told_at is None


@pytest.mark.parametrize(
    ("language", "subject", "sentence"),
    [
        ("en", "a change for you", "another hide"),
        ("de", "eine Änderung für dich", "anderes Versteck"),
        ("es", "un cambio para ti", "otro hide"),
    ],
)
def test_the_mail_is_in_the_persons_language_and_units(trip, mailroom, language, subject, sentence):
    hides = trip.sites.get().hides
    hides.filter(pk=hides.all()[2].pk).update(walk_m=300)
    Participant.objects.filter(email="p0@example.org").update(language=language, units="feet")
    row = moved(trip)
    row.notices.exclude(place=trip.places.first()).delete()
    notices_send()
    mail = mailroom.mails[0]
    assert subject in mail["Subject"]
    assert sentence in mailroom.text()
    assert "984 ft" in mailroom.text()
    assert sentence in mailroom.html()
    assert mail["Auto-Submitted"] == "auto-generated"


@pytest.mark.parametrize(
    ("language", "twice", "more"),
    [
        ("en", "Changed twice, now as before", "Changed, now as before"),
        ("de", "Zweimal geändert, jetzt wie vorher", "Geändert, jetzt wie vorher"),
        ("es", "Cambiado dos veces, ahora como antes", "Cambiado, ahora como antes"),
    ],
)
def test_there_and_back_says_changed_now_as_before_and_how_often(mailroom, language, twice, more):
    trip = issued_trip(people=2, hides=2, sessions=2)
    place = trip.places.first()
    Participant.objects.filter(pk=place.participant.pk).update(email="p0@example.org", language=language)
    for ways, said in (((1,), twice), ((1, 2), more)):
        notices_read(place=place, issue_uuid=Issue.objects.last().uuid, at=timezone.now())
        for hide in ways:
            issue(seated_rota(trip, moves={(0, 1): (hide - 1, 1), (1, 1): (2 - hide, 0)}))
        Notice.objects.update(mail="")
        issue(seated_rota(trip)).notices.get(place=place)
        notices_send()
        for text in (mailroom.text(), mailroom.html()):
            assert said in text
        assert "another seat" not in mailroom.text()


def test_who_left_the_trip_is_told_once_and_keeps_a_page_that_says_so(trip, mailroom, client):
    gone = trip.places.first()
    trip.places.filter(pk=gone.pk).update(state="cancelled")
    phone, days = phone_of(gone.participant), reverse("trips:my-days", args=[gone.participant.uuid])

    def page_says_so(browser):
        page = browser.get(days).content.decode()
        assert "You are no longer on this trip" in page
        assert "Your days are out" not in page
        assert page.count(">withdrawn<") == 2
        assert "data-turn" not in page.replace("data-next-turn", "")

    page_says_so(phone)  # at once, whatever is issued
    row = issue(seated_rota(trip, moves={(0, 0): None, (0, 1): None}))
    assert row.notices.get(place=gone).summary["left"]
    notices_send()
    [text] = [mailroom.text(n) for n, mail in enumerate(mailroom.mails) if mail["To"] == "p0@example.org"]
    assert f"you are no longer on the trip {trip.name}" in text
    assert text.count("withdrawn: ") == 2
    assert days in text
    page_says_so(phone)
    client.force_login(trip.leader)
    page_says_so(client)
    assert phone.get(reverse("trips:my-briefing", args=[gone.participant.uuid])).status_code == 200
    again = issue(seated_rota(trip, moves={(0, 0): None, (0, 1): None}))
    assert not again.notices.filter(place=gone).exists()


def test_who_left_the_trip_keeps_what_is_over_as_it_was(trip, clock):
    gone, first = trip.places.first(), trip.sessions.first()
    clock.moment = first.ends_at
    trip.places.filter(pk=gone.pk).update(state="cancelled")
    days = reverse("trips:my-days", args=[gone.participant.uuid])
    for _ in range(2):  # at once, and after the next issue
        page = phone_of(gone.participant).get(days).content.decode()
        assert page.count(">withdrawn<") == 1
        assert f'id="turn-{first.uuid}"' in page.split(">withdrawn<")[0]
        issue(seated_rota(trip, moves={(0, 1): None}))


def test_a_leaders_own_move_is_mailed_to_the_leader(trip, mailroom):
    hide, session = trip.sites.get().hides.all()[2], trip.sessions.first()
    type(trip.leader).objects.filter(pk=trip.leader.pk).update(email="leader@example.org", first_name="Nuria")

    def with_leader(seat):
        rota = seated_rota(trip)
        factories.turn(rota=rota, session=session, leader=trip.leader, place=None, hide=hide, seat=seat)
        return issue(rota)

    left, right = hide.seats.all()
    with_leader(left)
    notices_send()
    assert "is out" in mailroom.text(len(mailroom.mails) - 1)
    row = with_leader(right)
    assert [notice.leader for notice in row.notices.filter(place=None)] == [trip.leader]
    notices_send()
    assert mailroom.mails[-1]["To"] == "leader@example.org"
    text = mailroom.text(len(mailroom.mails) - 1)
    assert "Hello Nuria" in text
    assert f"another seat: {right.name} (was: {left.name})" in text.translate(dict.fromkeys(range(0x2066, 0x206A)))
    assert notices_send() == 0
