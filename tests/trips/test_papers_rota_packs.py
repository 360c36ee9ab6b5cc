"""Packs of papers, printed once in a worker, and the last ones kept."""

import io
import zipfile
from datetime import timedelta

import pytest

from tests import factories
from tests.trips.issued_trips import issue, seated_rota
from tests.trips.rota_papers import NOW, files_of
from trips import models
from trips.services.paper_pack import paper_pack_open, paper_pack_print, paper_packs_give_up, zip_bytes

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    made = factories.planned_trip(people_count=2, hides=2, sessions=2)
    made.ends_on = made.starts_on + timedelta(days=1)
    made.save()
    site = made.sites.get()
    site.emergency_number, site.hospital, site.owner = "112", "Hospital del Valle", "Tomás Requejo"
    site.meeting_latitude_deg, site.meeting_longitude_deg = 39.4444, -6.3333
    site.save()
    issue(seated_rota(made))
    return made


def test_a_pack_is_printed_once_whole_and_with_progress(trip):
    pack, is_new = paper_pack_open(trip=trip, page_size="A4", by=trip.leader, now=NOW)
    assert is_new
    assert paper_pack_open(trip=trip, page_size="Letter", by=trip.leader, now=NOW) == (pack, False)
    done = paper_pack_print(pack_uuid=pack.uuid)
    assert (done.state, done.done, done.total) == ("finished", done.total, done.total)
    packed = zipfile.ZipFile(io.BytesIO(bytes(done.content)))
    assert packed.testzip() is None
    assert sorted(packed.namelist()) == sorted(files_of(trip))
    assert all(packed.read(name).startswith(b"%PDF") for name in packed.namelist())
    assert paper_pack_print(pack_uuid=pack.uuid).version == done.version  # a second worker finds nothing to do


def test_a_pack_that_cannot_be_made_says_why_and_holds_nothing(trip):
    person = trip.places.order_by("participant__name").last().participant
    person.name = "\U0001e290\U0001e291"
    person.save()
    issue(seated_rota(trip))
    pack, _ = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW)
    done = paper_pack_print(pack_uuid=pack.uuid)
    assert (done.state, done.content) == ("failed", None)
    assert "Toto" in done.fault
    assert paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW)[1]


def test_a_pack_whose_worker_died_can_be_started_again(trip):
    pack, _ = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW)
    models.PaperPack.objects.filter(pk=pack.pk).update(state="running", heartbeat_at=NOW)
    assert paper_packs_give_up(trip=trip, now=NOW + timedelta(seconds=60)) == 0
    again, is_new = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW + timedelta(minutes=5))
    assert is_new
    pack.refresh_from_db()
    assert pack.state == "not_finished"
    assert again.pk != pack.pk


def test_only_the_last_packs_of_a_trip_are_kept(trip):
    for number in range(6):
        pack, _ = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW + timedelta(minutes=number))
        models.PaperPack.objects.filter(pk=pack.pk).update(state="finished", content=b"PK")
    assert trip.paper_packs.count() == 3


def test_the_same_files_give_the_same_zip():
    files = [("b.pdf", b"2"), ("a.pdf", b"1")]
    assert zip_bytes(files) == zip_bytes(reversed(files))
