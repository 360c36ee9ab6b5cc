"""What people tell their leaders from the phone: kept with its moment, answered from the board, and no more."""

from datetime import timedelta
from uuid import uuid4

import pytest

from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from tests.trips.my_forms import url as my_url
from trips.models import Happening, Message, Trip
from trips.services.my_data import my_data, person_erase

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)
EARLY = START - timedelta(minutes=40)  # 06:05


@pytest.fixture
def trip(made, clock):
    clock.moment = EARLY
    return Trip.objects.get(pk=made.pk)


def text(answer):
    return " ".join(answer.content.decode().split())


def sent(phone, place, waited_s=0, **data):
    headers = {"X-Queued": "1", "X-Queued-Seconds": str(waited_s)}
    return phone.post(my_url("my-message", place), data, headers=headers).json()


def test_a_late_person_is_on_the_board_and_one_press_opens_the_sheet_with_the_time(phone, place, trip, client):
    said = {"kind": "late", "until": "07:30", "text": "Flat tyre", "client_uuid": str(uuid4())}
    edition = phone.get(my_url("my-days", place))["X-Edition"]
    for _ in range(2):
        assert sent(phone, place, 300, **said)["taken"]
    row = Message.objects.get()
    assert (row.until_at, row.session) == (START + timedelta(minutes=45), trip.sessions.first())
    assert phone.get(my_url("my-days", place))["X-Edition"] != edition
    client.force_login(trip.leader)
    line = f"Sat 8 May, 06:00 {place.participant.name}: I am late, until 07:30. “Flat tyre”"
    assert line in text(client.get(url("board-show", trip)))
    assert line in text(client.get(url("person-list", trip)))
    answer = client.post(f"/trips/{trip.uuid}/messages/{row.uuid}/read/", {"answer": "sheet"})
    assert answer.url == f"{url('board-show', trip)}person/?one=place-{place.uuid}&until=07%3A30"
    assert 'name="until" value="07:30"' in text(client.get(answer.url))
    assert line not in text(client.get(url("board-show", trip)))
    row.refresh_from_db()
    assert row.answered_by == trip.leader
    assert "Read</span>" in text(phone.get(my_url("my-message", place)))
    assert not Happening.objects.exists()


def test_what_no_sheet_answers_is_read(phone, place, trip, client):
    assert sent(phone, place, kind="gear_complete")["taken"]
    client.force_login(trip.leader)
    page = text(client.get(url("person-list", trip)))
    assert "My gear is complete." in page
    assert 'value="sheet"' not in page
    row = Message.objects.get()
    answer = client.post(f"/trips/{trip.uuid}/messages/{row.uuid}/read/", {"answer": "read", "from": "people"})
    assert answer.url == url("person-list", trip)
    assert "My gear is complete" not in text(client.get(answer.url))


@pytest.mark.parametrize(
    ("data", "why"),
    [
        ({"kind": "late"}, "Say until when"),
        ({"kind": "late", "until": "25:00"}, "valid time"),
        ({"kind": "late", "until": "11:00"}, "The session is over by then"),
        ({"kind": "text"}, "Type what it is"),
        ({"kind": "nonsense"}, "not one of the available choices"),
        ({"kind": "text", "text": "x" * 201}, "at most 200 characters"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(phone, place, data, why):
    answer = sent(phone, place, **data)
    assert not answer["taken"]
    assert why in " ".join(answer["errors"])
    assert not Message.objects.exists()


def test_a_message_may_be_said_in_the_persons_language_and_leaves_with_them(phone, place, trip):
    place.participant.language = "de"
    place.participant.save()
    assert "Sag es deiner Reiseleitung" in text(phone.get(my_url("my-days", place)))
    sent(phone, place, kind="ill", text="Fieber")
    assert "Ich bin krank." in text(phone.get(my_url("my-message", place)))
    assert "Fieber" in str(my_data(person=place.participant))
    person_erase(person=place.participant)
    assert not Message.objects.exists()
