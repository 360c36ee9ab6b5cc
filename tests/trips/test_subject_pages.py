"""Subjects, their months, and who may open pages of subjects and seats."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import phone_of
from tests.trips.subject_forms import chances_url, seats_url, subject_data
from trips.assemble.places import subject_value
from trips.forms.subject import MonthsField, months_shown
from trips.models import Subject, Wish

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    trip = factories.trip()
    factories.hide(site=trip.sites.get(), name="Alder")
    return trip


def subject_url(name, subject=None):
    return reverse(f"trips:{name}", kwargs={"subject_uuid": subject.uuid} if subject else {})


@pytest.mark.parametrize(
    ("typed", "months"),
    [
        ("", []),
        ("4-6, 9", [4, 5, 6, 9]),
        ("Apr to Jun", [4, 5, 6]),
        ("nov–feb", [1, 2, 11, 12]),
        ("5", [5]),
        ("may, May", [5]),
        ("1-12", list(range(1, 13))),
    ],
)
def test_months_are_read_as_people_write_them(typed, months):
    assert MonthsField(required=False).clean(typed) == months


@pytest.mark.parametrize("typed", ["13", "0", "summer", "4-", "4--6", "²", "4;5"])
def test_what_is_no_month_is_refused(typed):
    with pytest.raises(ValidationError, match="is not a month"):
        MonthsField(required=False).clean(typed)


@pytest.mark.parametrize("months", [[], [5], [4, 5, 6, 9], [1, 2, 11, 12]])
def test_months_shown_are_read_back_the_same(months):
    assert MonthsField(required=False).clean(months_shown(months)) == months


def test_a_leader_without_subjects_is_offered_to_begin(as_leader):
    page = as_leader.get(subject_url("subject-list")).content.decode()
    assert "No subject yet" in page
    assert subject_url("subject-new") in page


def test_a_subject_needs_a_name_and_a_length_only(as_leader, trip):
    assert as_leader.post(subject_url("subject-new"), subject_data(length_max_cm="")).status_code == 302
    subject = Subject.objects.get()
    assert (subject.leader, subject.length_min_cm, subject.length_max_cm) == (trip.leader, 25, 25)


@pytest.mark.parametrize(("typed", "kept"), [({"tone": "light"}, "light"), ({}, "middle")])
def test_a_subject_has_a_tone_and_middle_is_assumed(as_leader, trip, typed, kept):
    as_leader.post(subject_url("subject-new"), subject_data(**typed))
    assert Subject.objects.get().tone == kept
    assert subject_value(Subject.objects.get()).tone == kept


def test_save_and_add_another_comes_back_to_an_empty_form(as_leader):
    answer = as_leader.post(subject_url("subject-new"), subject_data(step="more"))
    assert answer["Location"] == subject_url("subject-new")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": ""}, "This field is required."),
        ({"length_min_cm": "2,500"}, "type 2.5 or 2500"),
        ({"length_min_cm": "0", "length_max_cm": "4"}, "above 0 cm"),
        ({"length_min_cm": "30", "length_max_cm": "20"}, "the smallest not more than the largest"),
        ({"standing_height_cm": "-3"}, "A standing height is above 0 cm."),
        ({"length_min_cm": "nan"}, "is not a number"),
        ({"speed": "teleport"}, "not one of the available choices"),
    ],
)
def test_a_bad_subject_is_kept_and_explained(as_leader, changes, sentence):
    answer = as_leader.post(subject_url("subject-new"), subject_data(**changes))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert all(f'value="{text}"' in page for name, text in changes.items() if text and name != "speed")
    assert not Subject.objects.exists()


def test_a_name_is_used_once_a_leader(as_leader, trip):
    factories.subject(leader=trip.leader, name="Hoopoe")
    factories.subject(name="Roller")
    assert (
        "already have a subject of that name"
        in as_leader.post(subject_url("subject-new"), subject_data()).content.decode()
    )
    assert as_leader.post(subject_url("subject-new"), subject_data(name="Roller")).status_code == 302


def test_a_stale_subject_is_told_and_its_text_kept(as_leader, trip):
    subject = factories.subject(leader=trip.leader)
    page = as_leader.get(subject_url("subject-edit", subject)).content.decode()
    assert 'name="seen_version" value="1"' in page
    data = subject_data(seen_version="1")
    assert as_leader.post(subject_url("subject-edit", subject), data).status_code == 302
    page = as_leader.post(subject_url("subject-edit", subject), data | {"name": "Roller"}).content.decode()
    assert "changed since you opened it" in page
    assert 'value="Roller"' in page
    subject.refresh_from_db()
    assert subject.name == "Hoopoe"


def test_a_subject_with_votes_stays(as_leader, trip):
    subject = factories.subject(leader=trip.leader)
    Wish.objects.create(place=factories.place(trip=trip), subject=subject, votes=2)
    page = as_leader.post(subject_url("subject-remove", subject), follow=True).content.decode()
    assert "One person spent votes on" in page
    Wish.objects.all().delete()
    as_leader.post(subject_url("subject-remove", subject))
    assert not Subject.objects.exists()


def test_subject_list_costs_the_same_queries_with_many(as_leader, trip, hide, django_assert_max_num_queries):
    for _ in range(25):
        factories.hide_subject(hide=hide)
    with django_assert_max_num_queries(4):
        page = as_leader.get(subject_url("subject-list")).content.decode()
    assert page.count("1 hide<") == 25


def test_a_co_leader_may_and_a_stranger_and_a_participant_may_not(client, trip, hide):
    subject = factories.hide_subject(hide=hide).subject
    person = factories.place(trip=trip).participant
    addresses = [chances_url(hide), seats_url(trip), subject_url("subject-edit", subject)]
    for address in addresses:
        assert reverse("sign-in") in phone_of(person).get(address)["Location"]
    other = factories.leader()
    client.force_login(other)
    assert [client.get(address).status_code for address in addresses] == [404] * 3
    assert [client.post(address, {}).status_code for address in addresses] == [404] * 3
    trip.co_leaders.add(other)
    assert [client.get(address).status_code for address in addresses] == [200] * 3
