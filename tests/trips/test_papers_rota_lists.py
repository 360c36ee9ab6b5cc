"""Packing lists, cards and cars on paper, in the units of the reader."""

import re
from datetime import timedelta

import pytest

from participants.models import Converter
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from tests.trips.paper_reading import one_line, reader, text_of
from tests.trips.rota_papers import NOW, files_of, text_of_file
from trips import models
from trips.assemble.hide_papers import gear_table
from trips.assemble.trip import trip_values
from trips.documents.briefing import PaperHead
from trips.selectors.packing import packing_groups
from trips.services.papers import rota_papers
from trips.services.pdf import job_pdf

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


def supports_of(place) -> tuple[str, ...]:
    page = packing_groups(place.participant, place)
    return next(group.lines for group in page.groups if group.title.startswith("Supports"))


def test_a_packing_list_names_the_hides_that_the_person_sits_in(trip):
    for hide in trip.sites.get().hides.all():
        hide.support = "tripod"
        hide.save()
    place = trip.places.first()
    mine = place.turns.filter(rota__state="issued").first().hide
    other = trip.sites.get().hides.exclude(pk=mine.pk).get()
    issue(seated_rota(trip))
    (line,) = supports_of(place)
    assert mine.name in line
    assert other.name not in line
    briefing = text_of_file(trip, "briefing-", briefings_only=True)
    assert other.name not in briefing
    trip.rotas.update(state="retired")  # before a rota any hide may be theirs
    (line,) = supports_of(place)
    assert mine.name in line
    assert other.name in line


def test_the_list_and_papers_go_by_what_is_lost_and_lent(trip):
    """The first lends a lens for all sessions, and loses a converter after the first session."""
    first, second = trip.places.all()
    lens = first.participant.lenses.get()
    lens.name = "the lent lens"
    lens.save()
    early = trip.sessions.first()
    converter = Converter.objects.create(participant=first.participant, name="the lost converter", factor=1.4)
    models.GearAway.objects.create(trip=trip, lens=lens, from_at=early.starts_at, borrower=second)
    models.GearAway.objects.create(trip=trip, converter=converter, from_at=early.ends_at)
    issue(seated_rota(trip))

    def listed(place):
        page = packing_groups(place.participant, place)
        return str([group.lines for group in page.groups])

    kept = models.Issue.objects.order_by("issued_at").last().papers["people"]
    for told in (listed, lambda place: str(kept[str(place.uuid)]["packing"])):
        assert ("the lent lens" in told(first), "the lent lens" in told(second)) == (True, False)  # its owner packs it
        assert ("the lost converter" in told(first), "the lost converter" in told(second)) == (True, False)
    lines = gear_table(trip_values(trip), PaperHead("", "", "", "")).lines
    assert [("the lent lens" in str(line.lenses), "the lent lens" in line.note) for line in lines] == [
        (False, True),
        (True, False),
    ]


def test_a_guest_reads_nothing_of_lenses(trip):
    trip.places.update(photographs=False)
    issue(seated_rota(trip))
    text = text_of_file(trip, "briefing-", briefings_only=True)
    assert "Shutter" not in text
    assert "gear to follow" not in text


def test_feet_are_for_those_who_read_feet(trip):
    people = [place.participant for place in trip.places.order_by("participant__name")]
    people[0].units = "feet"
    people[0].save()
    issue(seated_rota(trip))
    files = files_of(trip, briefings_only=True)
    first, second = (one_line(text_of(job_pdf(file.job))) for file in files.values())
    assert "near edge of the water 15 ft" in first
    assert "near edge of the water 4.5 m" in second
    drawn = [[one.body.decode() for one in file.job.assets.values() if b">N<" in one.body] for file in files.values()]
    assert all(re.search(r">\d+ ft</text>", one) and not re.search(r">[\d.]+ m</text>", one) for one in drawn[0])
    assert all(re.search(r">[\d.]+ m</text>", one) for one in drawn[1])


def test_of_several_views_the_card_names_each(trip):
    hide = trip.sites.get().hides.first()
    factories.view(hide=hide, name="the other view", bearing_deg=90.0)
    first = hide.views.exclude(name="the other view").first()
    issue(seated_rota(trip))
    text = text_of_file(trip, "briefing-", briefings_only=True).lower()
    for name in ("the other view", first.name.lower()):
        assert text.count(f"{name}: looks towards") == 1  # on the card of the hide


def test_cars_stand_in_the_order_in_which_they_leave():
    trip = issued_trip(people=6, hides=3, sessions=1)
    session = trip.sessions.get()
    for name, hide in zip(("a late car", "an early car"), trip.sites.get().hides.all(), strict=False):
        hide.drive_min = 5 if "late" in name else 40
        hide.save()
        run = models.Run.objects.create(session=session, car=models.Car.objects.create(trip=trip, name=name, seats=6))
        models.RunStop.objects.create(run=run, hide=hide, position=1)
    issue(seated_rota(trip))
    (sheet,) = [one for one in rota_papers(rota=trip.rotas.get(state="issued"), now=NOW).days if one.sessions]
    leaves = [run.leaves for run in sheet.sessions[0].runs]
    assert len(leaves) >= 2
    assert leaves == sorted(leaves)


def test_a_hides_notes_of_eighty_lines_make_good_papers(trip):
    note = "\n".join(f"note {number} <b>of</b> file:///etc/passwd" for number in range(80))
    for field in ("cautions", "etiquette"):
        trip.sites.get().hides.update(**{field: note})
    issue(seated_rota(trip))
    names = []
    for name, file in files_of(trip).items():
        if name.startswith(("briefing", "papers/door-card")):
            names.append(name)
            pdf = job_pdf(file.job)
            text = one_line(text_of(pdf))
            if name.startswith("briefing"):  # said once, however many turns the person has there
                hide = models.Turn.objects.filter(rota__state="issued").first().hide
                assert text.count(f"See {hide.name} under Your hides.") == 1
                assert len(reader(pdf).pages) <= 10
            assert "note 0 <b>of</b> file:///etc/passwd" in text
            assert "note 79 <b>of</b> file:///etc/passwd" in text
    assert any(name.startswith("briefing") for name in names)
    assert any("door-card" in name for name in names)
