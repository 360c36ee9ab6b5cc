"""manage.py reach: text, JSON, and a trip that is not there."""

import io
import json

import pytest
from django.core.management import call_command

from tests import factories
from trips.management.plain_command import Refusal

pytestmark = pytest.mark.django_db


def run(*arguments):
    """The command's standard output."""
    out = io.StringIO()
    call_command("reach", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=2, hides=2)


def test_reach_as_json_holds_every_person_hide_view_and_subject(trip):
    first = trip.places.first().participant
    first.lenses.update(near_limit_m=6.5, focal_min_mm=800, focal_max_mm=800)
    report = json.loads(run(str(trip.uuid), "--json"))
    assert report["trip"] == str(trip.uuid)
    assert len(report["people"]) == 2
    by_name = {person["name"]: person for person in report["people"]}
    assert all(hide["fault"] for hide in by_name[first.name]["hides"])
    other = next(person for name, person in by_name.items() if name != first.name)
    subject = other["hides"][0]["views"][0]["subjects"][0]
    assert (subject["verdict"], subject["factor"], subject["focal_mm"]) == ("good", 1, 600)
    assert 0.3 < subject["fill"] < 0.7
    assert subject["focus_to_m"] is None
    assert {one["name"] for one in report["helps"]} == {first.name}


def test_reach_as_text_reads_like_the_pages(trip):
    factories.place(trip=trip)
    told = run(trip.name)
    assert "fills about" in told
    assert "no gear yet: counted as good" in told


def test_reach_of_an_unknown_trip_says_which_there_are(trip):
    with pytest.raises(Refusal) as refusal:
        run("no such trip")
    assert trip.name in str(refusal.value)
