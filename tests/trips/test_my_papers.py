"""A participant's briefing as page and PDF, and the calendar: subscribe, download, new address."""

import io
import re

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    trip = issued_trip(people=2, hides=2, sessions=2)
    trip.sites.update(emergency_number="112", hospital="Hospital of the Marsh")
    return trip


def url(name, place):
    return reverse(f"trips:{name}", args=[place.participant.uuid])


def test_my_briefing_says_where_to_go_what_to_bring_and_whom_to_call(trip, place):
    issue(seated_rota(trip))
    page = phone_of(place.participant).get(url("my-briefing", place)).content.decode()
    assert "112" in page
    assert "the lodge gate" in page
    assert "What to bring" in page
    assert "Rota 2, issued, told" in page


def test_my_briefing_names_the_persons_own_emergency_contact_as_it_is_today(place):
    place.participant.emergency_contact = "Ines, 600 555 012"
    place.participant.save()
    page = phone_of(place.participant).get(url("my-briefing", place)).content.decode()
    assert "Ines, 600 555 012" in page


def test_my_briefing_before_any_rota_says_so():
    place = factories.place()
    phone = phone_of(place.participant)
    assert "Nothing to brief yet" in phone.get(url("my-briefing", place)).content.decode()
    assert phone.get(url("my-briefing-file", place)).status_code == 404


def test_my_briefing_file_is_a_pdf_of_the_same_turns(trip, place):
    answer = phone_of(place.participant).get(url("my-briefing-file", place))
    assert answer.headers["Content-Type"] == "application/pdf"
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    turn = place.turns.first()
    assert turn.hide.name in text
    mate = turn.rota.turns.exclude(pk=turn.pk).get(session=turn.session, hide=turn.hide)
    assert mate.place.participant.name in text
    assert str(mate.place.uuid) not in text


def test_my_briefing_file_that_no_font_prints_is_a_sentence(trip, place):
    mate = trip.places.exclude(pk=place.pk).get().participant
    mate.name = "\U0001e290 Toto"
    mate.save()
    phone = phone_of(place.participant)
    answer = phone.get(url("my-briefing-file", place), follow=True)
    assert answer.redirect_chain == [(f"{url('my-briefing', place)}?trip={trip.uuid}", 302)]
    page = answer.content.decode()
    assert "The PDF could not be printed. No font here prints" in page
    assert "Tell your leader." in page
    assert "Install" not in page
    assert phone_of(factories.participant()).get(url("my-briefing-file", place)).status_code == 404
    leader = Client()
    leader.force_login(trip.leader)
    assert "could not be printed" in leader.get(url("my-briefing-file", place), follow=True).content.decode()


def test_my_calendar_address_is_read_without_signing_in(trip, place, settings):
    settings.PUBLIC_URL = "https://hides.example"
    page = phone_of(place.participant).get(url("my-calendar", place)).content.decode()
    address = re.search(r'value="https://hides\.example(/calendar/[^"]+\.ics)"', page)[1]
    feed = Client().get(address)
    assert feed.status_code == 200
    assert b"BEGIN:VCALENDAR" in feed.content
    assert place.turns.first().hide.name in feed.content.decode()
    assert f'href="webcal://hides.example{address}"' in page


def test_a_new_calendar_address_ends_the_old_one(trip, place, settings):
    settings.PUBLIC_URL = "https://hides.example"
    phone = phone_of(place.participant)
    find = re.compile(r'value="https://hides\.example(/calendar/[^"]+\.ics)"')
    old = find.search(phone.get(url("my-calendar", place)).content.decode())[1]
    phone.post(url("my-calendar-replace", place))
    new = find.search(phone.get(url("my-calendar", place)).content.decode())[1]
    assert Client().get(old).status_code == 410
    assert Client().get(new).status_code == 200


def test_my_calendar_file_is_a_calendar(trip, place):
    answer = phone_of(place.participant).get(url("my-calendar-file", place))
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.content.count(b"BEGIN:VEVENT") >= 2


@pytest.mark.parametrize("name", ["my-briefing", "my-briefing-file", "my-calendar", "my-calendar-file"])
def test_three_people_ask_for_a_persons_papers(client, trip, place, name):
    address = url(name, place)
    assert client.get(address).status_code == 302
    assert phone_of(trip.places.last().participant).get(address).status_code == 404
    client.force_login(trip.leader)
    assert client.get(address).status_code == 200
    client.force_login(factories.leader())
    assert client.get(address).status_code == 404
