"""What a co-leader of one trip sees and changes of its people: this trip, and nothing that leads to another."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from participants.models import Participant
from participants.services import link_hand_over
from tests import factories
from trips.services.calendars import feed_address

pytestmark = pytest.mark.django_db
PERSON_PAGES = ("my-days", "my-wishes", "my-details", "my-briefing", "my-calendar", "gear-show", "packing-show")


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=1)


@pytest.fixture
def person(trip):
    return trip.places.get().participant


@pytest.fixture
def elsewhere(trip, person):
    """An earlier trip of the same leader with the same person and one more."""
    starts_on = trip.starts_on - timedelta(days=30)
    other = factories.trip(leader=trip.leader, starts_on=starts_on, ends_on=starts_on, name="Winter cranes")
    other.sites.update(time_zone="Asia/Tokyo")
    factories.place(trip=other, participant=person)
    factories.place(trip=other, participant=factories.participant(leader=trip.leader, name="Vera Lind"))
    return other


@pytest.fixture
def co_leader(client, trip):
    trip.co_leaders.add(factories.leader(username="nuria"))
    client.force_login(trip.co_leaders.get())
    return client


def my(name, person, trip=None):
    return reverse(f"trips:{name}", args=[person.uuid], query={"trip": trip.uuid} if trip else None)


def test_people_of_other_trips_are_offered_to_their_own_leader_only(client, co_leader, trip, elsewhere):
    vera = Participant.objects.get(name="Vera Lind")
    people = reverse("trips:person-list", args=[trip.uuid])
    join = reverse("trips:person-join", args=[trip.uuid])
    assert "Vera Lind" not in co_leader.get(people).content.decode()
    assert co_leader.post(join, {"participant": vera.pk}).status_code == 404
    assert not trip.places.filter(participant=vera).exists()
    client.force_login(trip.leader)
    assert "Vera Lind" in client.get(people).content.decode()
    client.post(join, {"participant": vera.pk})
    assert trip.places.filter(participant=vera).exists()


def test_a_file_of_people_brings_nobody_of_another_trip_to_a_co_leader(co_leader, trip, elsewhere):
    vera = Participant.objects.get(name="Vera Lind")
    imported(co_leader, trip, "name,phone\nVera Lind,600 123\n")
    vera.refresh_from_db()
    assert vera.phone == ""
    assert not trip.places.filter(participant=vera).exists()
    assert trip.places.filter(participant__name="Vera Lind").count() == 1


def imported(client, trip, text):
    address = reverse("trips:people-import", args=[trip.uuid])
    return client.post(address, {"file": SimpleUploadedFile("people.csv", text.encode()), "step": "save"})


@pytest.mark.parametrize("name", PERSON_PAGES)
def test_a_co_leader_sees_a_persons_rows_of_this_trip_only(client, co_leader, trip, person, elsewhere, name):
    assert co_leader.get(my(name, person, trip)).status_code == 200
    assert co_leader.get(my(name, person, elsewhere)).status_code == 404
    assert "Winter cranes" not in co_leader.get(my(name, person)).content.decode()
    client.force_login(trip.leader)
    assert client.get(my(name, person, elsewhere)).status_code == 200


def test_a_co_leader_comes_at_once_to_the_days_of_the_only_trip(co_leader, person, elsewhere):
    assert co_leader.get(my("my-start", person))["Location"] == my("my-days", person)


def test_a_co_leader_whose_trips_a_person_is_not_on_any_more_finds_nobody(co_leader, trip, person, elsewhere):
    trip.co_leaders.clear()
    assert co_leader.get(my("my-days", person, trip)).status_code == 404
    assert co_leader.get(my("my-health", person)).status_code == 404


def test_no_way_in_of_a_person_is_in_a_co_leaders_hands(co_leader, trip, person):
    link_hand_over(person=person)
    for name in (
        "sign-in-link-show",
        "sign-in-link-mail",
        "sign-in-link-hand",
        "sign-in-link-revoke",
        "device-list",
        "my-links-revoke",
    ):
        address = reverse(f"participants:{name}", args=[person.uuid])
        assert {co_leader.get(address).status_code, co_leader.post(address).status_code} <= {404, 405}
    place = trip.places.get()
    page = co_leader.get(reverse("trips:person-edit", args=[trip.uuid, place.uuid])).content.decode()
    assert "Sign-in link" not in page
    assert "way-in" not in co_leader.get(my("my-days", person, trip)).content.decode()


def test_a_co_leader_does_not_move_a_persons_links_to_another_mailbox(client, co_leader, trip, person):
    address = reverse("trips:person-edit", args=[trip.uuid, trip.places.get().uuid])
    sent = {"name": person.name, "email": "mine@example.org", "language": "en", "units": "metric", "phone": "600 77"}
    co_leader.post(address, sent | {"seen_version": person.version})
    person.refresh_from_db()
    assert (person.email, person.phone) == ("", "600 77")
    page = imported(co_leader, trip, f"name,email\n{person.name},mine@example.org\n").content.decode()
    assert f"Only {trip.leader.username} changes this person" in page
    client.force_login(trip.leader)
    client.post(address, sent | {"seen_version": person.version})
    person.refresh_from_db()
    assert person.email == "mine@example.org"


def test_a_persons_calendar_of_all_trips_is_not_shown_to_a_co_leader(client, co_leader, trip, person):
    feed = feed_address(kind="feed_person", owner_uuid=person.uuid)
    page = co_leader.get(my("my-calendar", person, trip)).content.decode()
    assert feed not in page
    assert my("my-calendar-file", person, trip) in page
    assert co_leader.post(my("my-calendar-replace", person)).status_code == 404
    client.force_login(trip.leader)
    assert feed in client.get(my("my-calendar", person, trip)).content.decode()


def test_a_co_leader_erases_nobody(co_leader, person):
    assert co_leader.get(my("my-data", person)).status_code == 404
    assert co_leader.post(my("my-data-erase", person), {"sure": "on"}).status_code == 404
    person.refresh_from_db()
    assert person.erased_at is None


def test_a_co_leader_reads_the_health_note_and_adds_new_people(co_leader, trip, person):
    assert co_leader.get(my("my-health", person)).status_code == 200
    sent = {"name": "Ines Prado", "language": "en", "units": "metric", "state": "confirmed"}
    co_leader.post(reverse("trips:person-new", args=[trip.uuid]), sent)
    assert trip.places.get(participant__name="Ines Prado").participant.leader == trip.leader
