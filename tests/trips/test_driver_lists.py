"""A list for each driver of a day behind a link: whom it shows, whom it opens to, and when it ends."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from participants.models import AccessLink, HealthNote, Participant
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.models import Car, DriverList, Happening, Hide, Site, Trip, Turn
from trips.selectors.drivers import driver_days

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
made = made_once(issued_trip)
OUTSIDER = "name-benigno"


@pytest.fixture
def trip(made):
    trip = Trip.objects.get(pk=made.pk)
    Car.objects.create(trip=trip, name="Grey van", plate="1234", seats=6, driver="Benigno")
    return trip


def link_of(client, trip, driver=OUTSIDER, day="2027-05-08"):
    """The path that the leader's page offers for that driver and day, after the button."""
    client.force_login(trip.leader)
    client.post(url("driver-link", trip), {"day": day, "driver": driver})
    row = DriverList.objects.filter(trip=trip, driver=driver, day=day).first()
    if row is None:
        return ""
    page = client.get(url("driver-lists", trip)).content.decode()
    return "/drive/" + page.split("/drive/")[1].split('"')[0]


def opened(path):
    answer = Client().get(path)
    return answer.status_code, answer.content.decode()


def test_an_outsider_reads_whom_to_drive_where_and_when(client, trip, clock):
    clock.moment = START - timedelta(hours=12)
    person = trip.places.first().participant
    Participant.objects.filter(pk=person.pk).update(phone="+44 1632 960113")
    HealthNote.objects.create(participant=person, text="asthma")
    Hide.objects.filter(site=trip.sites.get()).update(gates="close the green gate", drive_min=10)
    status, page = opened(link_of(client, trip))
    assert status == 200
    names = [place.participant.name for place in trip.places.all()]
    for words in (*names, "tel:+441632960113", "Grey van", "1234", "close the green gate", "Leave 06:", "until 10:45"):
        assert words in page, words
    assert "asthma" not in page
    answer = Client().get(link_of(client, trip))
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "no-referrer"


def test_it_shows_one_day_alone_and_ends_after_it(client, trip, clock):
    clock.moment = START - timedelta(hours=12)
    path = link_of(client, trip)
    page = opened(path)[1]
    assert "8 May" in page
    assert "9 May" not in page
    clock.moment = START + timedelta(hours=16)
    assert opened(path)[0] == 200
    clock.moment = START + timedelta(hours=20)
    assert opened(path)[0] == 410
    assert "Its day is over" in opened(path)[1]
    assert "8 May" not in client.get(url("driver-lists", trip)).content.decode()


def test_a_new_link_ends_the_one_before_and_a_made_up_one_never_opens(client, trip, clock):
    clock.moment = START - timedelta(hours=12)
    first, second = link_of(client, trip), link_of(client, trip)
    assert first != second
    assert (opened(first)[0], opened(second)[0]) == (410, 200)
    row = DriverList.objects.get()
    for token in (f"d{row.uuid.hex}.2.{'A' * 22}", "x", f"p{row.uuid.hex}.1.{'A' * 22}"):
        assert opened(reverse("trips:driver-list-show", args=[token]))[0] == 404
    AccessLink.objects.filter(kind="driver").update(kind="feed_trip")
    assert opened(second)[0] == 404


def test_nobody_gets_a_link_for_a_day_on_which_they_do_not_drive(client, trip, clock):
    clock.moment = START - timedelta(hours=12)
    assert not link_of(client, trip, driver="name-stranger")
    assert not link_of(client, trip, day="2027-06-08")
    trip.rotas.update(state="retired")
    assert not link_of(client, trip)
    assert "Nobody drives" in client.get(url("driver-lists", trip)).content.decode()


def test_it_follows_the_day_and_the_owners_language(client, trip, clock, session):
    first, second = (Turn.objects.get(session=session, place=place) for place in trip.places.all()[1:3])
    Happening.objects.create(
        trip=trip, kind="not_coming", session=session, place=trip.places.first(), at=START - timedelta(hours=2)
    )
    moved = {"place": first.place, "hide": second.hide, "at": START + timedelta(hours=1)}
    Happening.objects.create(trip=trip, kind="moved", session=session, **moved)
    clock.moment = START + timedelta(hours=2)
    path = link_of(client, trip)
    page = opened(path)[1]
    for words in ("not coming", f"now in {second.hide.name}", "moved here"):
        assert words in page, words
    Site.objects.update(owner_language="es")
    assert "no viene" in opened(path)[1]


def test_the_lists_ask_the_database_as_often_with_many_rows(trip, clock):
    clock.moment = START - timedelta(hours=12)
    larger = issued_trip(people=6, hides=4, sessions=6)
    Car.objects.create(trip=larger, name="Van", seats=6)
    counts = []
    for one in (trip, larger):
        fresh = Trip.objects.get(pk=one.pk)
        with CaptureQueriesContext(connection) as seen:
            assert driver_days(fresh, now=clock.moment)
        counts.append(len(seen))
    assert counts[0] == counts[1] < 35
