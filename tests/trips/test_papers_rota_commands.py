"""Papers and calendars as files: written whole or not at all."""

from datetime import timedelta

import icalendar
import pytest
from django.core.management import call_command

from tests import factories
from tests.trips.issued_trips import issue, seated_rota
from tests.trips.paper_reading import reader
from tests.trips.rota_papers import NOW, events_of
from trips.documents.scripts import NoFont
from trips.management.plain_command import Refusal
from trips.services.calendars import CalendarOf, calendar_bytes
from trips.services.papers import PaperOrder, paper_files, papers_print, rota_for_papers, rota_papers

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


def test_papers_are_written_into_a_folder(trip, tmp_path, capsys):
    call_command("write_papers", str(trip.uuid), str(tmp_path / "new" / "folder"), "--page-size", "Letter")
    folder = tmp_path / "new" / "folder"
    assert len(list(folder.glob("*.pdf"))) == 2
    assert len(list((folder / "papers").glob("*.pdf"))) == 2 + 2 + 2 + 1 + 1 + 1 + 1
    assert float(reader(next(folder.glob("*.pdf")).read_bytes()).pages[0].mediabox.width) == 612
    assert "12 papers of rota 1 (issued)" in capsys.readouterr().out


def test_half_a_set_of_papers_is_never_written(trip, tmp_path):
    person = trip.places.order_by("participant__name").last().participant
    person.name = "\U0001e290"
    person.save()
    with pytest.raises(Refusal) as refused:
        call_command("write_papers", str(trip.uuid), str(tmp_path))
    assert refused.value.returncode == 1
    assert "fonts-noto-core" in str(refused.value)
    assert list(tmp_path.rglob("*.pdf")) == []


def test_calendars_are_written_as_files(trip, tmp_path):
    call_command("write_calendar", trip.name, str(tmp_path / "trip.ics"))
    assert (tmp_path / "trip.ics").read_bytes() == calendar_bytes(CalendarOf(trip))
    place = trip.places.first()
    call_command("write_calendar", trip.name, str(tmp_path / "one.ics"), "--person", str(place.participant.uuid))
    assert (tmp_path / "one.ics").read_bytes() == calendar_bytes(CalendarOf(trip, place=place))


def test_a_draft_calendar_says_that_it_is_one(tmp_path, capsys):
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    seated_rota(trip)
    call_command("write_calendar", str(trip.uuid), str(tmp_path / "trip.ics"))
    assert "newest draft" in capsys.readouterr().err
    written = (tmp_path / "trip.ics").read_bytes()
    assert {str(event["status"]) for event in events_of(written).values()} == {"TENTATIVE"}
    assert len(events_of(written)) == 2
    calendar = icalendar.Calendar.from_ical(written)
    assert str(calendar["name"]) == f"Draft: {trip.name}"
    assert str(calendar["description"]).startswith("Draft, not issued")
    issue(trip.rotas.get())
    call_command("write_calendar", str(trip.uuid), str(tmp_path / "trip.ics"))
    assert b"TENTATIVE" not in (tmp_path / "trip.ics").read_bytes()
    assert b"Draft" not in (tmp_path / "trip.ics").read_bytes()


@pytest.mark.parametrize("person", ["nobody", "00000000-0000-0000-0000-000000000007"])
def test_an_unknown_person_is_a_sentence(trip, tmp_path, person):
    with pytest.raises(Refusal) as refused:
        call_command("write_calendar", str(trip.uuid), str(tmp_path / "one.ics"), "--person", person)
    assert refused.value.returncode == 2
    assert person in str(refused.value)


def test_an_unknown_trip_and_a_folder_that_cannot_be_made_are_sentences(trip, tmp_path):
    with pytest.raises(Refusal):
        call_command("write_papers", "no such trip", str(tmp_path))
    (tmp_path / "file").write_text("")
    with pytest.raises(Refusal, match="cannot be written"):
        call_command("write_papers", str(trip.uuid), str(tmp_path / "file" / "papers"))


def test_a_script_without_a_font_is_found_before_anything_is_printed(trip):
    person = trip.places.first().participant
    person.name = "\U0001e290"
    person.save()
    rota = rota_for_papers(trip)
    papers = rota_papers(rota=rota, now=NOW)
    with pytest.raises(NoFont):
        papers_print(list(paper_files(rota=rota, papers=papers, order=PaperOrder(briefings_only=True))))
