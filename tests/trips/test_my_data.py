"""My data: all of it as a file, and having it erased."""

import json

import pytest
from django.urls import reverse

from participants.models import AccessLink, Body, Device, HealthNote, Participant
from tests import factories
from tests.trips.issued_trips import issued_trip, phone_of
from trips.models import Issue, Pairing
from trips.services.health import health_save
from trips.services.my_data import unnamed

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return issued_trip(people=3, hides=2, sessions=2)


@pytest.fixture
def place(trip):
    place = trip.places.first()
    Participant.objects.filter(pk=place.participant.pk).update(
        name="Ines Prado", email="ines@example.org", diet="no nuts"
    )
    place.participant.refresh_from_db()
    return place


def url(name, place):
    return reverse(f"trips:{name}", args=[place.participant.uuid])


def test_my_data_holds_all_of_the_person_and_nothing_of_others(trip, place):
    other = trip.places.last()
    Participant.objects.filter(pk=other.participant.pk).update(phone="+34 699 111 222", emergency_contact="Uncle Rui")
    Pairing.objects.create(trip=trip, first=place, second=other, kind="apart")
    health_save(person=place.participant, text="Asthma")
    health_save(person=other.participant, text="Heart")
    place.wishes.create(subject=trip.sites.get().hides.first().hide_subjects.first().subject, marks=5)
    answer = phone_of(place.participant).post(url("my-data-file", place))
    text = answer.content.decode()
    kept = json.loads(text)
    assert kept["person"]["email"] == "ines@example.org"
    assert kept["gear"]["lenses"][0]["focal_max_mm"] == 600
    assert kept["trips"][0]["wishes"][0]["marks"] == 5
    assert len(kept["trips"][0]["turns"]) == place.turns.count() == 2
    for secret in ("Asthma", "Heart", "apart", "699 111", "Uncle Rui", other.participant.name):
        assert secret not in text
    assert "attachment" in answer.headers["Content-Disposition"]
    assert "Ines" not in answer.headers["Content-Disposition"]
    assert "no-store" in answer.headers["Cache-Control"]


def test_the_health_note_goes_along_only_when_it_is_ticked(place):
    health_save(person=place.participant, text="Asthma")
    answer = phone_of(place.participant).post(url("my-data-file", place), {"health": "on"})
    assert answer.json()["health_note"] == "Asthma"


def test_only_the_person_takes_the_file(client, trip, place):
    client.force_login(trip.leader)
    assert client.post(url("my-data-file", place)).status_code == 404
    assert phone_of(trip.places.last().participant).post(url("my-data-file", place)).status_code == 404


def test_erasing_asks_first(place):
    answer = phone_of(place.participant).post(url("my-data-erase", place))
    assert answer.status_code == 200
    assert 'role="alert"' in answer.content.decode()
    assert Participant.objects.get(pk=place.participant.pk).name == "Ines Prado"


def test_erasing_leaves_turns_without_a_name(trip, place):
    health_save(person=place.participant, text="Asthma")
    turns = place.turns.count()
    phone = phone_of(place.participant)
    answer = phone.post(url("my-data-erase", place), {"sure": "on"})
    assert answer.headers["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    gone = Participant.objects.get(pk=place.participant.pk)
    assert gone.name == "Erased person"
    assert gone.erased_at is not None
    assert (gone.email, gone.diet, gone.phone, gone.emergency_contact) == ("", "", "", "")
    assert not HealthNote.objects.exists()
    assert not Body.objects.filter(participant=gone).exists()
    assert not Device.objects.filter(participant=gone, revoked_at=None).exists()
    assert not AccessLink.objects.filter(owner_uuid=gone.uuid, revoked_at=None).exists()
    assert place.turns.count() == turns
    assert phone.get(url("my-days", place)).status_code == 302
    mate = phone_of(trip.places.exclude(pk=place.pk).first().participant)
    page = mate.get(reverse("trips:my-days", args=[trip.places.exclude(pk=place.pk).first().participant.uuid]))
    assert "Ines" not in page.content.decode()


def test_erasing_takes_the_name_out_of_what_issues_keep(trip, place):
    row = Issue.objects.get()
    row.papers = row.papers | {"sheet": ["Ines Prado sits left", {"Ines Prado": "key stays"}, "Ines Pradoso"]}
    row.save()
    phone_of(place.participant).post(url("my-data-erase", place), {"sure": "on"})
    row.refresh_from_db()
    assert row.papers["sheet"][0] == "Erased person sits left"
    assert row.papers["sheet"][2] == "Ines Pradoso"


def test_a_leader_erases_somebody_and_stays_signed_in(client, trip, place):
    client.force_login(trip.leader)
    answer = client.post(url("my-data-erase", place), {"sure": "on"})
    assert "Clear-Site-Data" not in answer.headers
    assert client.get(reverse("home")).url == reverse("trips:trip-list")
    client.force_login(factories.leader())
    other = trip.places.last()
    assert client.post(url("my-data-erase", other), {"sure": "on"}).status_code == 404


def test_a_name_is_taken_out_as_a_whole_only():
    assert unnamed({"Ana": ["Ana and Anabel", 3, None, "Banana Ana."]}, "Ana") == {
        "Ana": ["Erased person and Anabel", 3, None, "Banana Erased person."]
    }
