"""Records of incidents: what they say, that they are frozen, and that they can be printed."""

import io
from datetime import timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from participants.models import HealthNote
from tests.frozen_clock import clock_of
from tests.trips.day_pages import START
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.models import Happening, IncidentRecord, Trip, Turn
from trips.services.incidents import incident_pdf
from trips.services.issue_erased import place_unnamed

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return Trip.objects.get(pk=made.pk)


@pytest.fixture
def hide(trip, session):
    return Turn.objects.get(session=session, place=trip.places.first()).hide


def note(trip, session, kind, at, **more):
    values = {"place": trip.places.first(), "by": trip.leader} | more
    return Happening.objects.create(trip=trip, kind=kind, session=session, at=at, **values)


def record(client, trip, session, hide, more=None):
    data = {"session": session.uuid, "hide": hide.uuid, "happened": "Fell on the steps.", "told": "11:20 the owner"}
    data |= more or {}
    with clock_of("trips.views.incidents", START + timedelta(hours=5)):
        page = client.post(reverse("trips:incident-list", args=[trip.uuid]), data, follow=True)
    return IncidentRecord.objects.order_by("number").last(), page.content.decode()


def text_of(record):
    pages = PdfReader(io.BytesIO(incident_pdf(record))).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    return text.replace("\u2068", "").replace("\u2069", "")


def test_it_has_the_times_of_the_day_what_was_typed_and_no_health_note(as_leader, trip, session, hide):
    HealthNote.objects.create(participant=trip.places.first().participant, text="asthma")
    out = note(trip, session, "out", START, hide=hide)
    note(trip, session, "out", START + timedelta(minutes=9), hide=hide, undoes=out, note="ticked by mistake")
    note(trip, session, "out", START, place=trip.places.last())
    note(trip, None, "car_down", START + timedelta(hours=1), place=None)
    note(trip, session, "left_early", START + timedelta(hours=6))
    made, page = record(as_leader, trip, session, hide)
    assert "Record 1 is made and frozen" in page
    text = text_of(made)
    name, other = trip.places.first().participant.name, trip.places.last().participant.name
    for words in (
        *("Incident record 1", "Fell on the steps.", "11:20 the owner", hide.name, "WGS 84"),
        *(f"06:45 {name}: out, {hide.name}", "06:54 Taken back:", "(ticked by mistake)", "07:45 Car down"),
    ):
        assert words in text, words
    assert other not in text
    assert "asthma" not in text


def test_it_is_frozen_when_it_is_made_and_numbered(as_leader, trip, session, hide):
    first, _ = record(as_leader, trip, session, hide)
    before = first.paper
    note(trip, session, "left_early", START + timedelta(hours=2))
    second, page = record(as_leader, trip, session, hide)
    first.refresh_from_db()
    assert first.paper == before
    assert (first.number, second.number) == (1, 2)
    assert second.paper["times"] != before["times"]
    assert page.count(".pdf") == 2
    file = as_leader.get(reverse("trips:incident-file", args=[trip.uuid, first.uuid]))
    assert file.content.startswith(b"%PDF")


@pytest.mark.parametrize("wrong", [{"session": ""}, {"happened": ""}, {"hide": "9" * 26}, {"happened": "x" * 5001}])
def test_what_lacks_its_session_or_text_is_refused_in_words(as_leader, trip, session, hide, wrong):
    made, page = record(as_leader, trip, session, hide, wrong)
    assert made is None
    assert 'role="alert"' in page


def test_an_erased_person_leaves_it(as_leader, trip, session, hide):
    made, _ = record(as_leader, trip, session, hide)
    place = trip.places.first()
    name = place.participant.name
    assert name in str(made.paper)
    place_unnamed(place, name)
    made.refresh_from_db()
    assert name not in str(made.paper)
