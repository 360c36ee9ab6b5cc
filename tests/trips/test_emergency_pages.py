"""The page of a hide that is read out on the telephone: where it is, who is there, whom to call, what to do when."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from participants.models import HealthNote
from tests import factories
from tests.frozen_clock import clock_of
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.documents.overdue import RescueFacts, numbers_in, timed_steps
from trips.documents.quantities import position_minutes_text
from trips.models import Happening, Site, Trip, Turn

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)
LATE = START + timedelta(hours=4, minutes=40)


@pytest.fixture
def trip(made):
    return Trip.objects.get(pk=made.pk)


@pytest.fixture
def hide(trip, session):
    return Turn.objects.filter(session=session, place=trip.places.first()).get().hide


def shown(client, trip, hide, at=START):
    with clock_of("trips.views.safety", at):
        answer = client.get(url("emergency-show", trip, hide))
    assert answer.status_code == 200
    return answer.content.decode()


def noted(trip, session, kind, at=START):
    for turn in Turn.objects.filter(session=session, place__in=trip.places.all()[:2]):
        Happening.objects.create(trip=trip, kind=kind, session=session, place=turn.place, hide=turn.hide, at=at)


def test_it_says_where_the_hide_is_and_whom_to_dial(as_leader, trip, hide):
    Site.objects.filter(pk=hide.site_id).update(
        emergency_number="112 or 061", hospital="county town", owner="Benigno", owner_contact="+44 1632 960120"
    )
    hide.latitude_deg, hide.longitude_deg, hide.nearest_road, hide.gates = 39.52, -6.215, "ridge track", "code 4711"
    hide.save()
    page = shown(as_leader, trip, hide)
    for words in ("39.52000° N, 6.21500° W", "39° 31.200′ N, 6° 12.900′ W", "WGS 84", "ridge track", "code 4711"):
        assert words in page, words
    for link in ("tel:112", "tel:061", "tel:+441632960120", "geo:39.52000,-6.21500"):
        assert f'href="{link}"' in page
    assert "county town" in page
    assert "land owner and the rescue service decide" in page


def test_a_hide_without_a_position_of_its_own_says_that_it_is_the_estates(as_leader, trip, hide):
    hide.latitude_deg = hide.longitude_deg = None
    hide.save()
    assert "Position of the estate, not of this hide" in shown(as_leader, trip, hide)


def test_it_names_who_is_there_and_what_to_do_when(as_leader, trip, session, hide):
    hide.drive_min, hide.walk_min = 10, 2
    hide.save()
    noted(trip, session, "out")
    page = shown(as_leader, trip, hide, LATE)
    assert page.count("Overdue</span>") == 2
    assert "out since 06:45" in page
    times = [page.index(f"<strong>{clock}</strong> {words}") for clock, words in STEPS]
    assert times == sorted(times)
    noted(trip, session, "back", LATE)
    page = shown(as_leader, trip, hide, LATE)
    assert "Nobody is ticked out here" in page
    assert "Overdue</span>" not in page


# Due until 10:45; red after 15 minutes, help sets out after 25, and is there after 12 more.
STEPS = (("11:00", "Call: "), ("11:10", "Two people drive"), ("11:10", "Tell the owner"), ("11:22", "Call the"))


def test_the_minutes_are_those_of_the_trips_rules(as_leader, trip, session, hide):
    trip.rules.overdue_min, trip.rules.overdue_mail_min = 60, 90
    trip.rules.save()
    noted(trip, session, "out")
    page = shown(as_leader, trip, hide, LATE)
    assert "Overdue</span>" not in page
    assert "<strong>11:45</strong> Call: " in page


def test_before_a_session_it_names_who_sits_there_by_the_rota_and_later_nobody(as_leader, trip, hide):
    name = trip.places.first().participant.name
    assert name in shown(as_leader, trip, hide, START - timedelta(hours=12))
    assert "Nobody sits here today or tomorrow" in shown(as_leader, trip, hide, START + timedelta(days=60))


def test_no_health_note_is_on_it(as_leader, trip, hide):
    HealthNote.objects.create(participant=trip.places.first().participant, text="asthma, blue inhaler")
    assert "inhaler" not in shown(as_leader, trip, hide)


def test_a_hide_of_an_estate_that_did_not_say_yes_is_not_there(as_leader, trip):
    stranger = factories.hide()
    trip.sites.add(stranger.site)
    assert as_leader.get(url("emergency-show", trip, stranger)).status_code == 404


def test_it_asks_the_database_as_often_with_many_rows(as_leader, trip, hide):
    larger = issued_trip(people=6, hides=4, sessions=6)
    counts = []
    for one, its_hide in ((trip, hide), (larger, larger.sites.get().hides.first())):
        as_leader.force_login(one.leader)
        as_leader.get(url("emergency-show", one, its_hide))
        with CaptureQueriesContext(connection) as seen:
            shown(as_leader, one, its_hide)
        counts.append(len(seen))
    assert counts[0] == counts[1] < 40


@pytest.mark.parametrize(
    ("position", "text"),
    [
        ((39.52, -6.215), "39° 31.200′ N, 6° 12.900′ W"),
        ((-0.5, 179.9999999), "0° 30.000′ S, 180° 00.000′ E"),
        ((0.0, 0.0), "0° 00.000′ N, 0° 00.000′ E"),
    ],
)
def test_a_position_in_degrees_and_minutes(position, text):
    assert position_minutes_text(*position) == text


@pytest.mark.parametrize(
    ("typed", "dialled"),
    [
        ("112", ["112"]),
        ("112 or +44 (0)1632 960120, ask for Ana", ["112", "+4401632960120"]),
        ("channel 4", []),
        ("", []),
    ],
)
def test_the_numbers_in_a_typed_text(typed, dialled):
    assert [number.dialled for number in numbers_in(typed)] == dialled


def test_without_anybody_due_the_steps_have_no_times():
    assert [step.at for step in timed_steps(RescueFacts("Alder", 10), None, overdue_min=15, mail_min=25)] == [None] * 4
