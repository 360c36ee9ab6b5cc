"""What participants type: wishes and details - by themselves, by a leader for them, by strangers."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from participants.models import Participant, Submission
from tests import factories
from tests.trips.form_reading import FormReader
from tests.trips.issued_trips import phone_of
from tests.trips.my_forms import url
from trips.models import Pairing

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=3, hides=2, sessions=2)


def subjects(trip):
    return sorted({row.subject for hide in trip.sites.get().hides.all() for row in hide.hide_subjects.all()}, key=str)


def opened(name, place):
    """What the form of a page carries unseen, as a leader opens it now."""
    leader = Client()
    leader.force_login(place.trip.leader)
    page = leader.get(url(name, place), {"trip": place.trip.uuid}).content.decode()
    (form,) = (form for form in FormReader(page).forms if "seen_fields" in form.names)
    return {name: form.sent[name] for name in ("trip", "seen_fields")}


def wishes(place, votes=(), **fields):
    """A whole form of wishes as a page sends it."""
    data = opened("my-wishes", place) | {"light_wish": "", "output": "web"}
    for subject, number in zip(subjects(place.trip), votes, strict=False):
        data[f"votes_{subject.uuid.hex}"] = number
    return data | fields


def details(place, **fields):
    return opened("my-details", place) | {"language": "en", "units": "metric"} | fields


def test_wishes_are_saved_and_come_back(phone, trip, place):
    hide = trip.sites.get().hides.first()
    answer = phone.post(url("my-wishes", place), wishes(place, (4, 2), light_wish="side", output="a3", again=[hide.pk]))
    assert answer.status_code == 302
    place.refresh_from_db()
    assert (place.light_wish, place.output) == ("side", "a3")
    assert sorted(place.wishes.values_list("votes", flat=True)) == [2, 4]
    assert place.agains.get().hide == hide
    page = phone.get(url("my-wishes", place)).content.decode()
    assert '<option value="4" selected>' in page
    phone.post(url("my-wishes", place), wishes(place, (0, 1)))
    assert place.wishes.get().votes == 1
    assert not place.agains.exists()


def test_a_guest_wishes_for_subjects_and_company_and_is_not_asked_for_light(phone, place):
    place.photographs, place.light_wish, place.output = False, "side", "a3"
    place.save()
    data = {key: value for key, value in wishes(place, (3,)).items() if key not in ("light_wish", "output")}
    assert phone.post(url("my-wishes", place), data).status_code == 302
    place.refresh_from_db()
    assert (place.light_wish, place.output, place.wishes.get().votes) == ("side", "a3", 3)


def test_a_seventh_vote_is_refused_in_words_and_nothing_is_lost(phone, place):
    answer = phone.post(url("my-wishes", place), wishes(place, (4, 3), light_wish="back"))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "You spent 7 votes; 6 are there to spend. Take 1 back." in page
    assert '<option value="back" selected>' in page
    assert not place.wishes.exists()


@pytest.mark.parametrize("typed", ["-1", "7", "1e3", "x", "٣", "\x00"])
def test_votes_of_any_other_kind_are_refused(phone, place, typed):
    assert phone.post(url("my-wishes", place), wishes(place, (typed,))).status_code == 200
    assert not place.wishes.exists()


def test_a_wish_for_company_goes_to_the_leader_and_is_shown_to_nobody_else(phone, trip, place):
    other = trip.places.last()
    phone.post(url("my-wishes", place), wishes(place, company_with=other.pk, company_how="apart"))
    pairing = Pairing.objects.get()
    assert {pairing.first, pairing.second} == {place, other}
    assert pairing.kind == "apart"
    for asker, person in ((phone, place), (phone_of(other.participant), other)):
        for name in ("my-wishes", "my-details", "my-data", "my-days"):
            page = asker.get(url(name, person)).content.decode()
            assert 'value="apart" selected' not in page
            assert f'value="{other.pk}" selected' not in page
            assert f'value="{place.pk}" selected' not in page


def test_apart_is_not_undone_by_the_other_person(trip, place):
    other = trip.places.last()
    phone_of(other.participant).post(url("my-wishes", other), wishes(other, company_with=place.pk, company_how="apart"))
    phone_of(place.participant).post(
        url("my-wishes", place), wishes(place, company_with=other.pk, company_how="together")
    )
    assert Pairing.objects.get().kind == "apart"


def test_somebody_of_another_trip_cannot_be_named(phone, place):
    stranger = factories.place()
    answer = phone.post(url("my-wishes", place), wishes(place, company_with=stranger.pk, company_how="together"))
    assert answer.status_code == 200
    assert not Pairing.objects.exists()


def test_wishes_opened_before_somebody_elses_change_say_so_and_keep_what_was_typed(phone, place, client):
    data = wishes(place, (5, 1))
    client.force_login(place.trip.leader)
    client.post(url("my-wishes", place), wishes(place, (1, 1)))
    page = phone.post(url("my-wishes", place), data).content.decode()
    assert "changed since you opened it" in page
    assert '<option value="5" selected>' in page
    assert sorted(place.wishes.values_list("votes", flat=True)) == [1, 1]


def test_a_form_that_waited_is_taken_once(phone, place):
    data, before = wishes(place, (2, 2), client_uuid=str(uuid.uuid4())), place.version
    for _ in range(2):
        answer = phone.post(url("my-wishes", place), data, headers={"X-Queued": "1"})
        assert answer.json() == {"taken": True, "next": url("my-wishes", place)}
    assert Submission.objects.get().participant == place.participant
    place.refresh_from_db()
    assert place.version == before + 1


def test_a_form_that_waited_and_is_wrong_says_what(phone, place):
    data = wishes(place, (6, 6), client_uuid=str(uuid.uuid4()))
    answer = phone.post(url("my-wishes", place), data, headers={"X-Queued": "1"})
    assert answer.json()["taken"] is False
    assert "12 votes" in answer.json()["errors"][0]
    assert not Submission.objects.exists()


def test_details_that_waited_and_are_wrong_say_what_in_both_of_their_parts(phone, place):
    data = details(place, steps_limit="-1", language="xx", client_uuid=str(uuid.uuid4()))
    said = phone.post(url("my-details", place), data, headers={"X-Queued": "1"}).json()
    assert [error.split(":")[0] for error in said["errors"]] == ["Language", "Most steps I can climb or go down"]


def test_a_form_that_waited_is_refused_for_anybody_else(trip, place):
    data = wishes(place, (2, 2), client_uuid=str(uuid.uuid4()))
    other = phone_of(trip.places.last().participant)
    assert other.post(url("my-wishes", place), data, headers={"X-Queued": "1"}).status_code == 404
    assert not place.wishes.exists()


def test_details_are_saved_in_the_persons_units(phone, place):
    place.participant.units = "feet"
    place.participant.save()
    data = details(place, units="feet", walk_limit_m="328", walk_limit_m_unit="ft", steps_limit="3", steps_firm="on")
    answer = phone.post(
        url("my-details", place), data | {"emergency_contact": "Rosa, +34 600 000 000", "diet": "no nuts"}
    )
    assert answer.status_code == 302
    place.refresh_from_db()
    assert place.walk_limit_m == pytest.approx(99.97, abs=0.01)
    assert (place.steps_limit, place.steps_firm, place.walk_firm) == (3, True, False)
    assert place.participant.diet == "no nuts"
    stored = place.walk_limit_m
    for _ in range(3):
        page = phone.get(url("my-details", place)).content.decode()
        assert 'value="328"' in page
        phone.post(url("my-details", place), details(place, units="feet", walk_limit_m="328", walk_limit_m_unit="ft"))
    place.refresh_from_db()
    assert place.walk_limit_m == stored


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("steps_limit", "-1"),
        ("steps_limit", "99999999"),
        ("walk_limit_m", "-5"),
        ("hours_limit", "25"),
        ("hours_limit", "a"),
    ],
)
def test_details_that_cannot_be_are_refused_and_come_back(phone, place, field, typed):
    answer = phone.post(url("my-details", place), details(place, **{field: typed, "diet": "kept words"}))
    assert answer.status_code == 200
    assert "kept words" in answer.content.decode()
    place.participant.refresh_from_db()
    assert place.participant.diet == ""


@pytest.mark.parametrize(
    ("units", "unit", "typed", "told", "most"),
    [
        ("feet", "ft", "400000", "from 0 to 328\N{NO-BREAK SPACE}083 ft.", "328083"),
        ("metric", "m", "100001", "from 0 to 100\N{NO-BREAK SPACE}000 m.", "100000"),
    ],
)
def test_the_longest_walk_is_told_in_the_persons_unit(phone, place, units, unit, typed, told, most):
    Participant.objects.filter(pk=place.participant.pk).update(units=units)
    data = details(place, units=units, walk_limit_m=typed, walk_limit_m_unit=unit)
    assert f"Type a number {told}" in phone.post(url("my-details", place), data).content.decode()
    assert phone.post(url("my-details", place), data | {"walk_limit_m": most}).status_code == 302


@pytest.mark.parametrize("name", ["my-wishes", "my-details", "my-health", "my-data"])
def test_three_people_ask_for_a_persons_forms(client, trip, place, name):
    address = url(name, place)
    assert client.get(address).url == reverse("participants:link-ask")
    assert phone_of(trip.places.last().participant).get(address).status_code == 404
    client.force_login(trip.leader)
    assert client.get(address).status_code == 200
    client.force_login(factories.leader())
    assert client.get(address).status_code == 404
    assert client.post(address).status_code in (404, 405)


def test_a_leader_types_for_a_person(client, trip, place):
    client.force_login(trip.leader)
    client.post(url("my-wishes", place), wishes(place, (6,)))
    client.post(url("my-details", place), details(place, diet="vegetarian"))
    place.participant.refresh_from_db()
    assert place.wishes.get().votes == 6
    assert place.participant.diet == "vegetarian"


def test_a_queued_form_whose_place_is_gone_is_told_so_and_does_not_wait_for_ever(phone, place):
    data = {"trip": "", "client_uuid": str(uuid.uuid4())}
    trip, person = place.trip, place.participant
    place.delete()
    for name in ("my-wishes", "my-details"):
        address = reverse(f"trips:{name}", args=[person.uuid])
        for sent in (data, data | {"trip": trip.uuid}):
            assert phone.post(address, sent, headers={"X-Queued": "1"}).status_code == 404
        assert phone.post(address, {"trip": ""}).status_code == 302
