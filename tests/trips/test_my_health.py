"""Health notes: who reads them, which readings are recorded, and when they are erased."""

from datetime import date, timedelta

import pytest

from participants.models import HealthNote, HealthReading
from tests import factories
from tests.trips.my_forms import url
from trips.models import Place, Trip
from trips.services.health import health_erase_due, health_read, health_save

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=3, hides=2, sessions=2)


def test_a_health_note_is_read_by_person_and_leaders_and_each_reading_is_recorded(client, phone, trip, place):
    phone.post(url("my-health", place), {"text": "Asthma; carries a spray."})
    co_leader = factories.leader(username="nuria")
    trip.co_leaders.add(co_leader)
    client.force_login(co_leader)
    assert "Asthma" in client.get(url("my-health", place)).content.decode()
    reading = HealthReading.objects.get()
    assert (reading.reader, reading.participant) == (co_leader, place.participant)
    page = phone.get(url("my-health", place))
    assert "nuria" in page.content.decode()
    assert "no-store" in page.headers["Cache-Control"]
    assert HealthReading.objects.filter(reader=None).count() == 1
    client.force_login(factories.leader())
    assert client.get(url("my-health", place)).status_code == 404
    assert HealthReading.objects.count() == 2


def test_an_emptied_health_note_is_erased(phone, place):
    phone.post(url("my-health", place), {"text": "Asthma"})
    note = HealthNote.objects.get()
    phone.post(url("my-health", place), {"text": "", "seen_version": note.version})
    assert not HealthNote.objects.exists()


def test_a_health_note_that_changed_since_is_not_overwritten(phone, place):
    phone.post(url("my-health", place), {"text": "Asthma"})
    version = HealthNote.objects.get().version
    health_save(person=place.participant, text="Asthma, and bees", seen_version=version)
    page = phone.post(url("my-health", place), {"text": "Nothing", "seen_version": version}).content.decode()
    assert "changed since you opened it" in page
    assert HealthNote.objects.get().text == "Asthma, and bees"


def test_health_notes_are_erased_thirty_days_after_the_last_trip_that_somebody_is_expected_on(trip, place):
    health_save(person=place.participant, text="Asthma")
    health_read(person=place.participant, reader=trip.leader)
    later = factories.trip(leader=trip.leader, starts_on=date(2037, 9, 1), ends_on=date(2037, 9, 4))
    second = factories.place(trip=later, participant=place.participant, state="invited")
    due = later.ends_on + timedelta(days=30)
    for state in ("invited", "confirmed"):
        Place.objects.filter(pk=second.pk).update(state=state)
        assert health_erase_due(today=due - timedelta(days=1)) == 0
    assert health_erase_due(today=due) == 1
    assert not HealthReading.objects.exists()
    health_save(person=place.participant, text="Asthma")
    Place.objects.filter(pk=second.pk).update(state="cancelled")
    assert health_erase_due(today=due - timedelta(days=1)) == 1


@pytest.mark.parametrize("state", ["confirmed", "cancelled"])
def test_a_health_note_written_after_the_last_trip_is_kept_thirty_days(trip, place, state):
    Place.objects.filter(pk=place.pk).update(state=state)
    Trip.objects.filter(pk=trip.pk).update(starts_on=date(2026, 5, 1), ends_on=date(2026, 5, 4))
    health_save(person=place.participant, text="Asthma")
    HealthNote.objects.update(changed_at="2026-08-10T12:00:00Z")
    assert health_erase_due(today=date(2026, 9, 8)) == 0
    assert health_erase_due(today=date(2026, 9, 9)) == 1
