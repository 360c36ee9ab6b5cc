"""The day board: what comes next at each moment of a day, and where the house opens."""

from datetime import timedelta

import pytest
from django.urls import reverse

from tests import factories
from tests.frozen_clock import clock_of
from tests.trips.command_line import run
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


def board(client, trip, at):
    with clock_of("trips.views.board", at):
        return " ".join(client.get(url("board-show", trip)).content.decode().split())


def note(trip, *arguments, at):
    with clock_of("trips.management.commands.day_change", at):
        assert run("day_change", trip.uuid, *arguments).code == 0


def names(trip):
    return [place.participant.name for place in trip.places.all()]


def test_before_the_start_the_board_counts_down_to_the_first_car(as_leader, trip):
    """One car for two hides leaves at 06:13 (see the day's page)."""
    page = board(as_leader, trip, START - timedelta(minutes=75))
    assert '<span class="board-count">in 43 min</span> 06:13 The car leaves' in page
    assert "0 out, 0 back, 4 not out yet" in page
    assert "Tick who is out" in page
    assert "Clear sky · sunrise 07:18" in page
    assert all(name in page for name in names(trip))


def test_during_the_session_the_board_counts_heads_and_awaits_the_pick_up(as_leader, trip):
    for name in names(trip)[:2]:
        note(trip, "out", "--person", name, at=START)
    note(trip, "not_coming", "--person", names(trip)[2], at=START)
    note(trip, "late", "--person", names(trip)[3], "--until", "07:30", at=START)
    page = board(as_leader, trip, START + timedelta(minutes=15))
    assert "2 out, 0 back, 1 late, 1 not coming" in page
    assert f"07:30 {names(trip)[3]} comes" in page
    page = board(as_leader, trip, START + timedelta(hours=2))
    assert "leaves to fetch people" in page


def test_who_is_overdue_comes_first_until_they_are_back(as_leader, trip):
    late = START + timedelta(hours=4, minutes=20)
    note(trip, "out", "--person", names(trip)[0], at=START)
    page = board(as_leader, trip, late)
    assert "board-overdue" in page
    assert f"Overdue</h1> <p>{', '.join(sorted(names(trip)))}</p>" in page
    assert "What to do" in page
    for name in names(trip):
        note(trip, "back", "--person", name, at=late)
    assert "board-overdue" not in board(as_leader, trip, late)


def test_people_in_a_closed_hide_are_to_be_moved(as_leader, trip):
    hide = models.Turn.objects.filter(place=trip.places.first()).first().hide
    note(trip, "hide_closed", "--hide", hide.name, at=START)
    page = board(as_leader, trip, START + timedelta(minutes=5))
    assert f"{hide.name} is closed. Move {names(trip)[0]} and {names(trip)[1]}." in page
    assert f"{url('board-move', trip, key=str(hide.uuid))}" in page


def test_the_board_opens_on_the_session_ahead_not_on_one_that_is_over(as_leader, trip):
    page = board(as_leader, trip, START + timedelta(hours=6))
    assert "Sat 8 May, late" in page
    assert "No session ahead" in board(as_leader, trip, START + timedelta(days=30))


def test_the_board_tells_whom_a_change_has_not_reached(as_leader, trip):
    assert "4 people have not confirmed rota 1 yet." in board(as_leader, trip, START)
    models.Notice.objects.exclude(place=trip.places.first()).update(confirmed_at=START)
    assert f"{names(trip)[0]} has not confirmed rota 1 yet." in board(as_leader, trip, START)


def test_a_leader_is_at_home_on_the_board_while_a_trip_runs(client, trip):
    client.force_login(trip.leader)
    for at, where in ((START, "board-show"), (START - timedelta(days=9), "trip-list")):
        with clock_of("config.views", at):
            home = client.get(reverse("home"))
        assert home.url == (url("board-show", trip) if where == "board-show" else reverse("trips:trip-list"))
    client.force_login(factories.leader())
    with clock_of("config.views", START):
        assert client.get(reverse("home")).url == reverse("trips:trip-list")


def test_the_board_asks_the_database_a_fixed_number_of_times(as_leader, trip, django_assert_num_queries):
    with django_assert_num_queries(37) as seen:
        board(as_leader, trip, START)
    larger = issued_trip(people=6, hides=4, sessions=6)
    as_leader.force_login(larger.leader)
    with django_assert_num_queries(len(seen)):
        board(as_leader, larger, START)
