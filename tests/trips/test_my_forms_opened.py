"""Forms of a participant that were opened a while ago: before another change, or on a trip that is over since."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from participants.models import Participant
from tests import factories
from tests.trips.form_reading import FormReader
from trips.models import Place, Trip

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]

STALE = "changed since you opened it"


@pytest.fixture
def place():
    return factories.planned_trip(people_count=2, hides=2, sessions=2).places.first()


def url(name, place):
    return reverse(f"trips:{name}", args=[place.participant.uuid])


def opened(phone, address, **asked):
    """What the form of a page sends when nothing is touched."""
    (form,) = (form for form in FormReader(phone.get(address, asked).content.decode()).forms if "trip" in form.names)
    return form.sent


def votes(place, number):
    subject = place.trip.sites.get().hides.first().hide_subjects.first().subject
    return {f"votes_{subject.uuid.hex}": number}


def trip_over(place):
    """The trip of the place ended a week ago; the person has a place on a later one."""
    today = timezone.now().date()
    later = factories.place(
        participant=place.participant,
        trip=factories.trip(
            leader=place.trip.leader, sites=[place.trip.sites.get()], starts_on=today, ends_on=today + timedelta(days=3)
        ),
    )
    ended = today - timedelta(days=7)
    Trip.objects.filter(pk=place.trip.pk).update(starts_on=ended - timedelta(days=4), ends_on=ended)
    return later


@pytest.mark.parametrize("queued", [{}, {"X-Queued": "1"}])
def test_wishes_are_saved_on_the_trip_that_their_page_showed(phone, place, queued):
    filled = opened(phone, url("my-wishes", place)) | votes(place, 5)
    later = trip_over(place)
    answer = phone.post(url("my-wishes", place), filled, headers=queued)
    assert place.wishes.get().votes == 5
    assert not later.wishes.exists()
    onwards = answer.json()["next"] if queued else answer.url
    assert '<option value="5" selected>' in phone.get(onwards).content.decode()


def test_details_are_saved_on_the_trip_that_their_page_showed(phone, place):
    filled = opened(phone, url("my-details", place)) | {"steps_limit": "7", "diet": "no nuts"}
    later = trip_over(place)
    phone.post(url("my-details", place), filled)
    assert Place.objects.get(pk=place.pk).steps_limit == 7
    assert Place.objects.get(pk=later.pk).steps_limit is None
    assert Participant.objects.get(pk=place.participant.pk).diet == "no nuts"


def test_a_refused_form_stays_with_its_trip(phone, place):
    filled = opened(phone, url("my-wishes", place)) | votes(place, 7)
    trip_over(place)
    page = phone.post(url("my-wishes", place), filled).content.decode()
    assert f"On {place.trip.name}." in page
    assert f'name="trip" value="{place.trip.uuid}"' in page


@pytest.mark.parametrize("name", ["my-wishes", "my-details"])
def test_the_trip_of_somebody_else_takes_no_form(phone, place, name):
    filled = opened(phone, url(name, place)) | {"trip": factories.trip().uuid, "diet": "no nuts"}
    assert phone.post(url(name, place), filled).status_code == 404
    assert phone.post(url(name, place), filled | {"trip": "\x00"}).status_code == 404
    assert Participant.objects.get(pk=place.participant.pk).diet == ""


def test_wishes_and_details_filled_one_beside_the_other_are_both_taken(phone, place):
    wishes = opened(phone, url("my-wishes", place)) | votes(place, 4)
    details = opened(phone, url("my-details", place)) | {"steps_limit": "7"}
    for name, filled in (("my-wishes", wishes), ("my-details", details)):
        answer = phone.post(url(name, place), filled, headers={"X-Queued": "1"})
        assert answer.json()["taken"] is True, name
    place.refresh_from_db()
    assert (place.wishes.get().votes, place.steps_limit) == (4, 7)


def leader_fills(place, page, **typed):
    """The leader changes something on a page of the person or of the place."""
    leader = Client()
    leader.force_login(place.trip.leader)
    own = page.startswith("my-")
    address = url(page, place) if own else reverse(f"trips:{page}", args=[place.trip.uuid, place.uuid])
    forms = FormReader(leader.get(address).content.decode()).forms
    (form,) = (form for form in forms if set(typed) <= set(form.names))
    assert leader.post(form.action or address, form.sent | typed).status_code == 302


@pytest.mark.parametrize(
    ("name", "page", "typed"),
    [
        ("my-wishes", "my-wishes", {"light_wish": "back"}),
        ("my-wishes", "my-wishes", {"output": "a3"}),
        ("my-details", "my-details", {"walk_limit_m": "300"}),
        ("my-details", "my-details", {"diet": "no fish"}),
        ("my-details", "person-edit", {"phone": "+34 600 000 000"}),
    ],
)
def test_a_leaders_change_of_the_same_is_told_and_stays(phone, place, name, page, typed):
    filled = opened(phone, url(name, place)) | {"steps_limit": "7"} | votes(place, 2)
    leader_fills(place, page, **typed)
    assert STALE in phone.post(url(name, place), filled).content.decode()
    assert not place.wishes.exists()
    assert Place.objects.get(pk=place.pk).steps_limit is None


@pytest.mark.parametrize(
    ("name", "page", "typed"),
    [
        ("my-wishes", "my-details", {"walk_limit_m": "300"}),
        ("my-wishes", "place-edit", {"gear_ready": "on"}),
        ("my-details", "my-wishes", {"light_wish": "back"}),
        ("my-details", "place-edit", {"gear_ready": "on"}),
        ("my-details", "person-edit", {"name": "Ines Prado"}),
    ],
)
def test_a_leaders_change_of_something_else_stops_nobody_and_stays(phone, place, name, page, typed):
    filled = opened(phone, url(name, place)) | {"steps_limit": "7"} | votes(place, 2)
    leader_fills(place, page, **typed)
    assert phone.post(url(name, place), filled).status_code == 302
    (changed,) = typed
    stored = Place.objects.select_related("participant").get(pk=place.pk)
    assert getattr(stored if hasattr(stored, changed) else stored.participant, changed) in (
        True,
        300,
        "back",
        "Ines Prado",
    )


def test_votes_that_somebody_else_gave_since_are_not_lost(phone, place):
    filled = opened(phone, url("my-wishes", place)) | votes(place, 2)
    leader_fills(place, "my-wishes", **votes(place, 6))
    assert STALE in phone.post(url("my-wishes", place), filled).content.decode()
    assert place.wishes.get().votes == 6


def test_a_subject_that_came_since_does_not_make_wishes_stale(phone, place):
    filled = opened(phone, url("my-wishes", place)) | votes(place, 2)
    factories.hide_subject(hide=place.trip.sites.get().hides.first())
    assert phone.post(url("my-wishes", place), filled).status_code == 302
