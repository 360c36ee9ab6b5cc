"""Meals: the leader's list, forms and copies; what guests and others on the trip read of them."""

import io
from datetime import date, time, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from pypdf import PdfReader

from participants.versions import Stale
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.models import Meal
from trips.services.meal import meal_update, meals_copy

pytestmark = pytest.mark.django_db
FIRST, SECOND = date(2027, 5, 8), date(2027, 5, 9)


@pytest.fixture
def trip():
    return factories.trip()


def url(name, trip, **more):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def typed(**changes):
    return {"day": "2027-05-08", "at": "08:30", "name": "Breakfast", "place": "lodge kitchen", "note": ""} | changes


def own(name, place):
    return reverse(f"trips:{name}", args=[place.participant.uuid])


def test_a_meal_of_a_name_comes_once_a_day(trip):
    meal = factories.meal(trip=trip, name="Dinner")
    with pytest.raises(ValidationError, match="already has a meal of that name"):
        Meal(trip=trip, day=meal.day, at=time(21), name="Dinner").full_clean()
    Meal(trip=trip, day=meal.day + timedelta(days=1), at=time(21), name="Dinner").full_clean()


def test_the_list_without_meals_says_the_next_step(as_leader, trip):
    page = as_leader.get(url("meal-list", trip)).content.decode()
    assert "No meal yet" in page
    assert "Add the first meal" in page
    assert url("meal-list", trip) in as_leader.get(url("session-list", trip)).content.decode()


def test_a_leader_adds_a_meal_and_reads_who_eats_what(as_leader, trip):
    factories.place(trip=trip, participant=factories.participant(leader=trip.leader, name="Bo", diet="no nuts"))
    factories.place(trip=trip, arrives_at=factories.FIRST_START + timedelta(days=1))
    factories.place(trip=trip, state="invited")
    page = as_leader.post(url("meal-list", trip), typed(), follow=True).content.decode()
    meal = Meal.objects.get()
    assert (meal.trip, meal.day, meal.at, meal.name) == (trip, FIRST, time(8, 30), "Breakfast")
    assert "08:30" in page
    assert "2 people confirmed" in page
    assert "1 person is there" in page
    assert "<dt>Bo</dt><dd>no nuts</dd>" in page
    assert "Europe/Madrid" in page


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"day": "2027-05-20"}, "The trip lasts from 8 to 12 May 2027."),
        ({"name": "Dinner"}, "This day already has a meal of that name."),
        ({"at": ""}, "This field is required."),
    ],
)
def test_a_wrong_meal_comes_back_as_typed(as_leader, trip, changes, told):
    factories.meal(trip=trip, name="Dinner")
    answer = as_leader.post(url("meal-list", trip), typed(place="under the oak", **changes))
    assert answer.status_code == 200
    assert told in answer.content.decode()
    assert "under the oak" in answer.content.decode()
    assert Meal.objects.count() == 1


def test_a_meal_is_changed_and_taken_away(as_leader, trip):
    meal = factories.meal(trip=trip)
    path = url("meal-edit", trip, meal_uuid=meal.uuid)
    as_leader.post(path, typed(name="Brunch", at="11:15", seen_version=meal.version))
    meal.refresh_from_db()
    assert (meal.name, meal.at, meal.version) == ("Brunch", time(11, 15), 2)
    as_leader.post(url("meal-remove", trip, meal_uuid=meal.uuid))
    assert not Meal.objects.exists()


def test_a_form_opened_before_somebody_elses_change_is_refused(as_leader, trip):
    meal = factories.meal(trip=trip, name="Breakfast")
    meal_update(meal=Meal.objects.get(), seen_version=1)
    with pytest.raises(Stale):
        meal_update(meal=meal, seen_version=1)
    answer = as_leader.post(url("meal-edit", trip, meal_uuid=meal.uuid), typed(name="Late bite", seen_version=1))
    assert "This changed since you opened it" in answer.content.decode()
    assert "Late bite" in answer.content.decode()
    assert Meal.objects.get().name == "Breakfast"


def test_a_day_is_copied_to_the_others_and_leaves_what_is_there(as_leader, trip):
    factories.meal(trip=trip, name="Breakfast")
    factories.meal(trip=trip, name="Dinner", at=time(22))
    factories.meal(trip=trip, name="Dinner", at=time(20), day=SECOND)
    page = as_leader.post(url("meals-copy", trip), {"day": "2027-05-08"}, follow=True).content.decode()
    assert "7 meals added to the other days" in page
    assert Meal.objects.filter(trip=trip).count() == 10
    assert Meal.objects.get(day=SECOND, name="Dinner").at == time(20)
    assert meals_copy(trip=trip, day=FIRST) == 0


@pytest.mark.parametrize("name", ["meal-list", "meals-copy", "meal-edit", "meal-remove"])
def test_strangers_and_participants_reach_no_page_of_meals(client, trip, name):
    meal = factories.meal(trip=trip)
    more = {"meal_uuid": meal.uuid} if name in ("meal-edit", "meal-remove") else {}
    path = url(name, trip, **more)
    phone = phone_of(factories.place(trip=trip).participant)
    assert phone.post(path, typed()).url.startswith(reverse("sign-in"))
    client.force_login(factories.leader())
    assert client.post(path, typed()).status_code == 404
    assert Meal.objects.count() == 1


def test_a_meal_of_another_trip_is_not_found(as_leader, trip):
    other = factories.meal()
    assert as_leader.get(url("meal-edit", trip, meal_uuid=other.uuid)).status_code == 404


@pytest.fixture
def guest():
    trip = issued_trip(people=2, hides=2, sessions=2)
    place = trip.places.first()
    place.photographs = False
    place.save()
    issue(seated_rota(trip))
    factories.meal(trip=trip, name="Breakfast", at=time(11, 15), note="eggs from the farm")
    factories.meal(trip=trip, name="Farewell lunch", day=trip.ends_on, at=time(13))
    return place


def test_a_guest_reads_the_meals_of_each_day_and_no_gear(guest):
    page = phone_of(guest.participant).get(own("my-days", guest)).content.decode()
    assert "<strong>11:15</strong> Breakfast, lodge kitchen (eggs from the farm)" in page
    page = page.partition("Meals and sun")[2]
    assert page.index("Sat 8 May</h3>") < page.index("11:15") < page.index("Wed 12 May</h3>") < page.index("Farewell")
    for word in ("600 mm", "Starting settings", "ISO", "front light"):
        assert word not in page


def test_meals_are_read_before_any_rota():
    place = factories.place()
    factories.meal(trip=place.trip, name="Breakfast")
    page = phone_of(place.participant).get(own("my-days", place)).content.decode()
    assert "No rota yet" in page
    assert "<strong>08:30</strong> Breakfast" in page


def test_nobody_reads_the_meals_of_another_trip(guest):
    factories.meal(name="Secret supper", day=guest.trip.starts_on)
    for name in ("my-days", "my-briefing"):
        assert "Secret supper" not in phone_of(guest.participant).get(own(name, guest)).content.decode()


def test_the_briefing_has_the_meals_of_today_on_the_page_and_on_paper(guest):
    phone = phone_of(guest.participant)
    Meal.objects.filter(name="Breakfast").update(name="Brunch")  # after the issue
    assert "Brunch, lodge kitchen (eggs from the farm)" in phone.get(own("my-briefing", guest)).content.decode()
    printed = PdfReader(io.BytesIO(phone.get(own("my-briefing-file", guest)).content))
    text = " ".join(" ".join(page.extract_text() for page in printed.pages).split())
    assert "11:15 Brunch, lodge kitchen" in text
    assert "13:00 Farewell lunch" in text


def test_a_changed_meal_is_another_edition_of_a_persons_pages(guest):
    phone, trip = phone_of(guest.participant), guest.trip
    meal = Meal.objects.get(name="Breakfast")
    seen = [phone.get(own("my-days", guest)).headers["X-Edition"]]
    meal.at = time(12)
    meal_update(meal=meal, seen_version=meal.version)
    seen.append(phone.get(own("my-days", guest)).headers["X-Edition"])
    factories.meal(trip=trip, day=SECOND)
    seen.append(phone.get(own("my-days", guest)).headers["X-Edition"])
    meal.delete()
    seen.append(phone.get(own("my-days", guest)).headers["X-Edition"])
    assert len(set(seen)) == 4
    factories.meal()
    assert phone.get(own("my-days", guest)).headers["X-Edition"] == seen[-1]
