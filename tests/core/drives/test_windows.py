"""When cars leave and people sit, worked out by hand from the sums in the comments (common practice, no source)."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue
from trips.core.drives import (
    DriveRules,
    Driving,
    InPlaceRule,
    PickUp,
    Run,
    Stop,
    in_driving_order,
    in_place_time,
    pick_up_window,
    plan_drives,
)

MADRID = ZoneInfo("Europe/Madrid")
SUNRISE = datetime(2027, 5, 8, 7, 18, 9, tzinfo=MADRID)  # 07:18, two libraries, upper limb
EARLY = datetime(2027, 5, 8, 6, 45, tzinfo=MADRID)
BEFORE_SUNRISE = InPlaceRule(before_sunrise_min=30)


def at(hour: int, minute: int) -> datetime:
    return datetime(2027, 5, 8, hour, minute, tzinfo=MADRID)


def stop(hide: str, walk_min: float, drive_min: float, in_place=None, **more) -> Stop:
    in_place = in_place or in_place_time(EARLY, BEFORE_SUNRISE, kind="early", sunrise=SUNRISE)
    ends = in_place + timedelta(hours=4)
    return Stop(hide, in_place, PickUp(ends, ends), ends, drive_min, walk_min, out=(hide,), **more)


def drive(*stops, **run):
    """The drive out of one car."""
    return plan_drives(Driving((Run(0, "van", stops, **run),)))[0]


def seated(one, stop):
    """When people are ready at a drop: 15 min after they walked there."""
    return one.visit(stop.hide).at + timedelta(minutes=stop.walk_min + 15)


def test_a_car_for_each_hide_leaves_by_its_own_sum():
    assert drive(stop("A", 2, 10)).leaves_at == at(6, 21)  # 07:18 - 30 - 15 - 2 - 10
    assert drive(stop("D", 2, 25)).leaves_at == at(6, 6)  # 07:18 - 30 - 15 - 2 - 25


def test_one_car_for_two_hides_leaves_five_minutes_earlier_for_the_second_drop():
    near, far = stop("A", 2, 10), stop("D", 2, 25)
    run = drive(near, far)
    assert run.leaves_at == at(6, 1)
    assert [(visit.hide, visit.at) for visit in run.visits] == [("A", at(6, 11)), ("D", at(6, 31))]
    assert (seated(run, near), seated(run, far)) == (at(6, 28), at(6, 48))
    assert run.back_at == at(7, 1)  # 06:31 + 5 for the drop + 25


def test_a_typed_drop_replaces_the_rule_for_those_who_ride_on():
    assert drive(stop("A", 2, 10, drop_min=12), stop("D", 2, 25)).leaves_at == at(5, 54)
    assert drive(stop("A", 2, 10), stop("D", 2, 25, drop_min=12)).leaves_at == at(6, 1)
    assert drive(stop("A", 2, 10, drop_min=0), stop("D", 2, 25)).leaves_at == at(6, 6)


def test_the_far_drop_first_brings_the_near_ones_there_on_the_way_home():
    run = drive(stop("D", 2, 25), stop("A", 2, 10))
    assert [visit.at - run.leaves_at for visit in run.visits] == [timedelta(minutes=25), timedelta(minutes=45)]
    assert run.back_at - run.leaves_at == timedelta(minutes=60)


def test_the_near_drop_decides_when_its_people_sit_much_earlier():
    near = stop("near", 1, 5, at(5, 0))
    far = stop("far", 1, 30, at(7, 0))
    assert drive(near, far).leaves_at == at(4, 39)


def test_drops_go_by_drive_time_and_then_by_key():
    stops = [stop("D", 2, 25), stop("C", 5, 10), stop("A", 2, 10)]
    assert [one.hide for one in in_driving_order(stops)] == ["A", "C", "D"]


def test_without_a_rule_people_sit_at_the_start_less_settling():
    assert in_place_time(EARLY, InPlaceRule(), kind="early", sunrise=SUNRISE) == EARLY
    assert in_place_time(EARLY, InPlaceRule(settle_min=10), kind="early", sunrise=SUNRISE) == at(6, 35)


def test_the_sunrise_rule_is_for_early_sessions_and_days_with_a_sunrise():
    late = at(17, 30)
    assert in_place_time(late, BEFORE_SUNRISE, kind="late", sunrise=SUNRISE) == late
    assert in_place_time(EARLY, BEFORE_SUNRISE, kind="early", sunrise=None) == EARLY


def test_sunrise_counts_to_the_minute_it_is_printed_with():
    for seconds, minute in ((-29, 48), (29, 48), (31, 49)):
        sunrise = at(7, 18) + timedelta(seconds=seconds)
        assert in_place_time(EARLY, BEFORE_SUNRISE, kind="early", sunrise=sunrise) == at(6, minute)


def test_half_minutes_of_a_way_make_the_car_leave_earlier_never_later():
    assert drive(stop("A", 2.5, 10)).leaves_at == at(6, 20)


def test_leaving_before_midnight_belongs_to_the_day_before():
    start = datetime(2027, 5, 9, 0, 10, tzinfo=MADRID)
    assert drive(stop("N", 5, 20, start)).leaves_at == datetime(2027, 5, 8, 23, 30, tzinfo=MADRID)


def test_elapsed_minutes_count_across_a_clock_change():
    start = datetime(2027, 3, 28, 3, 20, tzinfo=MADRID)  # the clocks went from 02:00 to 03:00
    run = drive(stop("N", 5, 20, start))
    assert run.leaves_at == datetime(2027, 3, 28, 1, 40, tzinfo=MADRID)
    assert (start.timestamp() - run.leaves_at.timestamp()) / 60 == 40


def test_a_pick_up_asks_only_while_the_light_is_front():
    front = pick_up_window(at(10, 45), ["front"])
    assert (front.opens_at, front.closes_at, front.ask) == (at(10, 30), at(10, 45), True)
    assert pick_up_window(at(10, 45), ["back"]).ask is False
    assert pick_up_window(at(10, 45), ["side", "front"]).ask is True
    assert pick_up_window(at(10, 45), []).ask is False


def test_where_doors_stay_shut_the_window_follows_the_end():
    window = pick_up_window(at(10, 45), [], window_min=20, closed_until_end=True)
    assert (window.opens_at, window.closes_at) == (at(10, 45), at(11, 5))


@pytest.mark.parametrize("field", ["walk_min", "drive_min", "drop_min"])
def test_negative_minutes_are_refused_by_name(field):
    wrong = replace(stop("A", 1, 1, drop_min=1), **{field: -1.0})
    with pytest.raises(BadValue) as refused:
        drive(wrong)
    assert refused.value.field == field


def test_negative_minutes_of_the_rules_are_refused():
    for rules in (DriveRules(set_up_min=-1), DriveRules(stop_min=-1)):
        with pytest.raises(BadValue):
            plan_drives(Driving((Run(0, "van", (stop("A", 1, 1),)),), rules=rules))
    with pytest.raises(BadValue):
        pick_up_window(EARLY, [], window_min=-1)
    with pytest.raises(BadValue):
        in_place_time(EARLY, InPlaceRule(settle_min=-1), kind="late", sunrise=None)


minutes = st.integers(0, 90)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(minutes, minutes, st.none() | minutes, st.integers(0, 240)), min_size=1, max_size=6))
def test_nobody_sits_late_and_somebody_sits_just_in_time(rows):
    stops = [
        stop(str(index), walk, way, EARLY + timedelta(minutes=offset), drop_min=drop)
        for index, (walk, way, drop, offset) in enumerate(rows)
    ]
    run = drive(*stops)
    assert min(one.in_place_at - seated(run, one) for one in stops) == timedelta(0)
