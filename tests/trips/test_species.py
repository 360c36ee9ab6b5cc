"""Subjects are called as their readers call them, and the starter list fills a subject's form."""

import pytest
from django.urls import reverse

from participants.core.language import named
from participants.speaking import speaking
from tests import factories
from tests.trips.issued_trips import phone_of
from trips.assemble.places import subject_value
from trips.core.values import TONES
from trips.documents.days import ViewPage
from trips.documents.frozen_json import as_json, from_json
from trips.models import Subject
from trips.models.subject import SPEEDS
from trips.selectors.species import species_called, starter_list


@pytest.fixture
def trip():
    return factories.trip()


def test_the_starter_list_is_whole():
    found = starter_list()
    assert len(found) >= 150
    assert len({one.name for one in found}) == len({one.scientific_name for one in found}) == len(found)
    for one in found:
        assert 0 < one.length_min_cm <= one.length_max_cm, one.name
        assert one.speed in dict(SPEEDS), one.name
        assert one.tone in TONES, one.name
        assert all(dict(one.names).get(language) for language in ("de", "es")), one.name


@pytest.mark.parametrize("name", ["Common kingfisher", "eisvogel", "Alcedo atthis", " martín pescador común "])
def test_a_species_is_found_by_any_of_its_names(name):
    assert species_called("", "no such bird", name).scientific_name == "Alcedo atthis"


def test_a_name_is_said_in_the_language_in_use_and_as_typed_where_there_is_none():
    names = (("de", "Eisvogel"),)
    for language, said in (("en", "Kingfisher"), ("de", "Eisvogel"), ("es", "Kingfisher")):
        with speaking(language):
            assert named("Kingfisher", names) == said


def test_the_leaders_own_name_goes_before_the_lists():
    row = Subject(name="Hoopoe", scientific_name="Upupa epops", other_names={"de": "Hupphupp"})
    row.length_min_cm, row.length_max_cm = 25, 29
    assert dict(subject_value(row).names) == {"de": "Hupphupp", "es": "abubilla común"}


def test_a_page_that_was_kept_before_names_were_told_says_the_one_it_has():
    kept = as_json(ViewPage("pool", 3.0, 5.0, subject="Hoopoe"))
    del kept["names"]
    with speaking("de"):
        assert from_json(ViewPage, kept).said == "Hoopoe"


@pytest.mark.django_db
def test_wishes_and_gear_name_subjects_in_the_persons_language(trip):
    subject = factories.subject(leader=trip.leader, name="Common kingfisher")
    factories.hide_subject(hide=factories.hide(site=trip.sites.get()), subject=subject)
    person = factories.place(
        trip=trip, participant=factories.participant(leader=trip.leader, language="de")
    ).participant
    factories.body(participant=person)
    factories.lens(participant=person)
    for name in ("my-wishes", "gear-show"):
        page = phone_of(person).get(reverse(f"trips:{name}", args=[person.uuid])).content.decode()
        assert "Eisvogel" in page
        assert "kingfisher" not in page


@pytest.mark.django_db
def test_a_name_of_the_list_is_enough_for_a_subject(as_leader):
    answer = as_leader.post(reverse("trips:subject-new"), {"name": "Western osprey", "speed": "flight"})
    assert answer.status_code == 302
    made = Subject.objects.get()
    assert (made.scientific_name, made.length_min_cm, made.length_max_cm) == ("Pandion haliaetus", 52, 60)


@pytest.mark.django_db
def test_a_subject_that_the_list_does_not_know_needs_a_length_and_keeps_the_names_typed(as_leader):
    address, typed = reverse("trips:subject-new"), {"name": "Dragonfly", "speed": "flight", "name_de": "Libelle"}
    refused = as_leader.post(address, typed)
    assert "The list does not know this subject. Type its length." in refused.content.decode()
    as_leader.post(address, typed | {"length_min_cm": "7"})
    made = Subject.objects.get()
    assert made.other_names == {"de": "Libelle"}
    page = as_leader.get(reverse("trips:subject-edit", args=[made.uuid])).content.decode()
    assert 'value="Libelle"' in page
    assert '<option value="Common kingfisher"' in page
