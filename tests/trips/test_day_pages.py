"""The day: people, when cars leave, what cannot be driven, and what a leader is asked."""

from datetime import timedelta

import pytest
from django.urls import reverse

from tests import factories
from tests.trips.day_pages import START, clock_at, day, first_hide, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models
from trips.selectors.day_state import trip_day

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


def test_the_day_shows_people_when_cars_leave_and_what_the_owner_says(as_leader, trip, session):
    models.SessionHide.objects.create(session=session, hide=first_hide(trip), state="unavailable", reason="hunting")
    page = day(as_leader, trip)
    assert "Early, 06:45 to 10:45" in page
    assert "hunting" in page
    to_rota = reverse("trips:rota-number", args=[trip.uuid, 1])
    assert f'People sit here: <a href="{to_rota}">move them in the rota</a>.' in page
    assert "Seats by rota 1, as issued; times as they are now." in page
    for place in trip.places.all():
        assert place.participant.name in page


def test_somebody_cancelled_is_named_so_where_the_rota_still_seats_them(as_leader, trip, session):
    place = models.Turn.objects.filter(session=session, place__isnull=False)[0].place
    models.Place.objects.filter(pk=place.pk).update(state=models.PlaceState.CANCELLED)
    assert f"{place.participant.name}, cancelled (" in day(as_leader, trip)
    state = trip_day(trip, now=session.starts_at)
    assert state.people[f"place-{place.uuid}"].name == f"{place.participant.name}, cancelled"


def test_one_car_for_two_hides_leaves_as_the_sum_says(as_leader, trip, session):
    """In place at 06:45, 15 min to set up, 2 min on foot, 10 min drive, and 5 min for the drop before."""
    assert "06:13" in day(as_leader, trip)


def test_a_car_for_each_hide_leaves_later(as_leader, trip, session):
    first, second = trip.sites.get().hides.all()[:2]
    for hide in (first, second):
        car = models.Car.objects.create(trip=trip, name=f"car to {hide.name}", seats=4)
        models.RunStop.objects.create(run=models.Run.objects.create(session=session, car=car), hide=hide, position=1)
    page = day(as_leader, trip)
    assert page.count("06:18") >= 2
    assert f"car to {first.name}" in page


def test_people_without_a_seat_in_the_cars_are_counted(as_leader, trip, session):
    models.Car.objects.create(trip=trip, name="small car", seats=3)
    page = day(as_leader, trip)
    assert "1 person has no seat in the small car." in page
    assert "Give the small car another run for" in page


def test_the_leader_is_asked_before_people_are_fetched_from_front_light(as_leader, trip):
    """West-looking hides at 10:30: the sun stands behind the seats, less than 45 degrees to the side."""
    assert "Ask first" in day(as_leader, trip)


def test_a_day_without_sessions_leads_to_the_sessions_page(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    page = client.get(url("day-show", trip)).content.decode()
    assert "No session yet" in page
    assert url("sessions-make", trip) in page


def test_today_is_shown_unless_another_day_is_asked_for(as_leader, trip):
    with clock_at(START + timedelta(days=1)):
        page = as_leader.get(url("day-show", trip)).content.decode()
    assert '<a href="?day=2027-05-09" aria-current="page">' in page
    assert as_leader.get(url("day-show", trip, day="soon")).status_code == 200


def test_the_day_asks_the_database_a_fixed_number_of_times(as_leader, trip, django_assert_num_queries):
    with django_assert_num_queries(32) as seen:
        day(as_leader, trip)
    larger = issued_trip(people=6, hides=4, sessions=6)
    as_leader.force_login(larger.leader)
    with django_assert_num_queries(len(seen)):
        day(as_leader, larger)


def test_a_car_that_leaves_the_evening_before_says_on_which_day(as_leader, trip, session):
    assert "<strong>on" not in day(as_leader, trip)
    first_hide(trip).site.hides.update(drive_min=600)
    assert "on 7 May</strong>" in day(as_leader, trip)
