"""Rows into values and problems."""

from datetime import UTC, datetime, timedelta

import pytest

from tests import factories
from trips import models
from trips.assemble import trip_values
from trips.assemble.places import chance_value
from trips.assemble.presence_and_states import openable
from trips.assemble.rota import plan_of, rota_inputs
from trips.core.rota.problem.values import LEADER, NO_SEAT, Pin

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


def inputs(trip):
    return rota_inputs(trip_values(models.Trip.objects.get(pk=trip.pk)))


def index(names, name):
    return list(names).index(name)


def test_a_trip_is_read_in_a_fixed_number_of_queries(trip, django_assert_max_num_queries):
    with django_assert_max_num_queries(29):
        inputs(trip)
    for _ in range(10):
        factories.place(trip=trip)
        factories.hide(site=trip.sites.get())
        factories.session(trip=trip)
    with django_assert_max_num_queries(29):
        inputs(trip)


def test_what_nobody_measured_has_a_default_and_says_assumed(trip):
    view = factories.view(hide=factories.hide(site=trip.sites.get(), views=0, name="Alder"), glass=True)
    hide = next(hide for hide in trip_values(trip).hides if hide.name == "Alder")
    assert hide.width_m == 3.0
    assert "width_m" in hide.assumed
    assert hide.views[0].key == str(view.uuid)
    assert hide.views[0].glass_loss_stops == 1.5
    assert {"horizon", "perch_height_m", "glass_loss_stops"} <= set(hide.views[0].assumed)


def test_a_blank_chance_is_the_mean_of_the_others_and_all_blank_is_even(trip):
    row = factories.hide_subject(early="nearly_always", late="sometimes")
    chance = chance_value(row)
    assert (chance.early, chance.late) == (0.9, 0.3)
    assert chance.midday == chance.night == pytest.approx(0.6)
    assert chance_value(factories.hide_subject(early="", late="")).early == 0.5


def test_outside_its_months_a_subject_comes_rarely(trip):
    row = factories.hide_subject(early="nearly_always", late="none", months=[6, 7])
    assert chance_value(row, 6).early == 0.9
    assert (chance_value(row, 5).early, chance_value(row, 5).late) == (0.1, 0.0)


def test_people_are_present_from_arrival_to_leaving_without_absences(trip):
    place = trip.places.first()
    first, second = trip.sessions.all()
    place.arrives_at = first.starts_at + timedelta(minutes=1)
    place.save()
    problem = inputs(trip).problem
    person = index(problem.people, place.participant.name)
    assert (person, 0) in problem.absent
    assert (person, 1) not in problem.absent
    models.Absence.objects.create(place=place, session=second)
    assert (person, 1) in inputs(trip).problem.absent


def test_cancelled_and_waiting_people_are_not_planned_for(trip):
    factories.place(trip=trip, state="cancelled")
    factories.place(trip=trip, state="waiting")
    assert len(inputs(trip).problem.people) == 3


def test_hides_of_other_sites_and_unavailable_ones_are_closed(trip):
    elsewhere = factories.site(leader=trip.leader)
    trip.sites.add(elsewhere)
    far = factories.hide(site=elsewhere, name="Far")
    shut = models.Hide.objects.filter(site=trip.sites.first()).first()
    session = trip.sessions.first()
    models.SessionHide.objects.create(session=session, hide=shut, state="unavailable", reason="let")
    problem = inputs(trip).problem
    names = [hide.name for hide in problem.hides]
    assert {(0, index(names, far.name)), (1, index(names, far.name)), (0, index(names, shut.name))} == problem.closed


def test_a_hide_with_notice_is_openable_only_in_time(trip):
    session = trip.sessions.first()
    hide = models.Hide.objects.first()
    models.SessionHide.objects.create(session=session, hide=hide, state="notice", notice_h=24)
    values = trip_values(trip)
    number = index([one.key for one in values.hides], str(hide.uuid))
    assert openable(values, session.starts_at - timedelta(hours=25)) == {(0, number)}
    assert openable(values, session.starts_at - timedelta(hours=23)) == frozenset()


def test_firm_limits_close_a_hide_and_soft_ones_halve_its_points(trip):
    steep = models.Hide.objects.first()
    steep.steps = 9
    steep.save()
    place = trip.places.first()
    place.steps_limit, place.steps_firm = 3, True
    place.save()
    found = inputs(trip)
    person, hide = (
        index(found.problem.people, place.participant.name),
        index([one.name for one in found.problem.hides], steep.name),
    )
    assert (person, hide) in found.problem.cannot
    before = found.problem.points[person][0][hide]
    place.steps_firm = False
    place.save()
    after = inputs(trip).problem
    assert (person, hide) not in after.cannot
    assert after.points[person][0][hide] == pytest.approx(before / 2, abs=0.01)


def test_too_many_hours_close_single_sessions(trip):
    place = trip.places.first()
    place.hours_limit = 3
    place.save()
    problem = inputs(trip).problem
    person = index(problem.people, place.participant.name)
    assert len([one for one in problem.cannot_then if one[0] == person]) == 4


def test_gear_that_cannot_focus_closes_a_hide(trip):
    place = trip.places.first()
    place.participant.lenses.update(near_limit_m=30)
    problem = inputs(trip).problem
    person = index(problem.people, place.participant.name)
    assert {(person, hide) for hide in range(2)} <= problem.cannot


def test_all_day_hides_join_the_sessions_of_a_local_day(trip):
    hide = models.Hide.objects.first()
    hide.doors = "all_day"
    hide.save()
    factories.session(trip=trip, index=2)
    found = inputs(trip).problem
    number = index([one.name for one in found.hides], hide.name)
    assert found.joined == ((number, (0, 1)),)


def test_pairings_helpers_guests_pins_and_wishes_to_go_back_are_carried(trip):
    first, second, third = trip.places.all()
    models.Pairing.objects.create(trip=trip, first=second, second=first, kind="apart")
    models.Pairing.objects.create(trip=trip, first=first, second=third, kind="half")
    third.helps, third.photographs = second, False
    third.save()
    hide = models.Hide.objects.first()
    session = trip.sessions.first()
    models.Pin.objects.create(trip=trip, session=session, place=first, hide=hide, seat=hide.seats.last())
    models.Pin.objects.create(trip=trip, session=session, hide=hide)
    models.Again.objects.create(place=second, hide=hide)
    found = inputs(trip)
    problem = found.problem
    people = {row.pk: number for number, row in enumerate(found.people)}
    number = index([one.name for one in problem.hides], hide.name)
    assert problem.apart == (tuple(sorted((people[first.pk], people[second.pk]))),)
    assert problem.half_together == (tuple(sorted((people[first.pk], people[third.pk]))),)
    assert problem.guests == {people[third.pk]}
    assert problem.helpers == ((people[third.pk], people[second.pk]),)
    assert Pin(people[first.pk], 0, number, 1) in problem.pins
    assert Pin(LEADER, 0, number, NO_SEAT) in problem.pins
    assert (people[second.pk], number) in problem.no_loss


def test_a_long_walk_or_heat_is_a_burden(trip):
    cool, warm = models.Hide.objects.order_by("pk")
    warm.excess_c = 6
    warm.save()
    session = trip.sessions.first()
    session.heat_limit_c = 37
    session.save()
    models.Forecast.objects.create(session=session, hour=session.starts_at, air_c=31)
    found = inputs(trip)
    numbers = {hide.key: number for number, hide in enumerate(found.values.hides)}
    assert found.problem.burdens == {(0, numbers[str(warm.uuid)])}
    cool.walk_m = 201
    cool.save()
    assert (1, numbers[str(cool.uuid)]) in inputs(trip).problem.burdens


def test_a_seat_out_of_use_counts_from_the_session_on(trip):
    second = trip.sessions.last()
    seat = models.Seat.objects.first()
    seat.out_of_use_from = second.starts_at
    seat.save()
    problem = inputs(trip).problem
    hide = index([one.name for one in problem.hides], seat.hide.name)
    assert (problem.capacity(0, hide), problem.capacity(1, hide)) == (2, 1)


def test_a_stored_rota_becomes_a_plan_again(trip):
    place, session, hide = trip.places.first(), trip.sessions.first(), models.Hide.objects.first()
    rota = factories.rota(trip=trip)
    factories.turn(rota=rota, place=place, session=session, hide=hide, seat=hide.seats.last())
    factories.turn(rota=rota, leader=trip.leader, session=session, hide=hide, seat=hide.seats.first())
    models.Rest.objects.create(rota=rota, session=trip.sessions.last(), place=place)
    plan = plan_of(rota, trip_values(trip))
    assert len(plan.turns) == 2
    assert {turn.person for turn in plan.turns} == {LEADER, 0}
    assert plan.rests == ((0, 1),)


def test_whoever_had_no_turn_in_a_hide_in_demand_is_owed_one(trip):
    models.Hide.objects.update(sought_after=True)
    place, hide = trip.places.first(), models.Hide.objects.first()
    rota = factories.rota(trip=trip, state="issued")
    models.Issue.objects.create(rota=rota, issued_at=datetime(2027, 5, 1, tzinfo=UTC))
    factories.turn(rota=rota, place=place, session=trip.sessions.first(), hide=hide)
    found = inputs(trip)
    number = index([one.name for one in found.problem.hides], hide.name)
    assert (0, number) not in found.problem.owed
    assert len(found.problem.owed) == 5


def test_the_same_trip_gives_the_same_problem(trip):
    assert inputs(trip).problem == inputs(trip).problem
