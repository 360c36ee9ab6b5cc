"""Which moment a clock time at a place is."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from participants.core.errors import BadValue
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local, zone_of

MADRID = "Europe/Madrid"


def test_an_ordinary_clock_time_is_one_moment():
    moment = moment_from_local(date(2027, 5, 8), time(6, 45), MADRID)
    assert moment == datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
    assert moment.tzinfo is UTC


def test_a_skipped_clock_time_is_refused_with_both_ends_of_the_gap():
    with pytest.raises(ClockTimeMissing) as refusal:
        moment_from_local(date(2027, 3, 28), time(2, 30), MADRID, fold=1)
    assert (refusal.value.leaves, refusal.value.arrives) == (datetime(2027, 3, 28, 2, 0), datetime(2027, 3, 28, 3, 0))


@pytest.mark.parametrize(
    ("day", "clock"),
    [(date(2027, 3, 28), time(1, 59, 59)), (date(2027, 3, 28), time(3)), (date(2027, 10, 31), time(3))],
)
def test_clock_times_beside_a_change_are_plain(day, clock):
    assert moment_from_local(day, clock, MADRID).astimezone(zone_of(MADRID)).time() == clock


def test_a_doubled_clock_time_is_asked_back_and_answered_by_fold():
    day, clock = date(2027, 10, 31), time(2, 30)
    with pytest.raises(ClockTimeTwice) as question:
        moment_from_local(day, clock, MADRID)
    first, second = (moment_from_local(day, clock, MADRID, fold=fold) for fold in (0, 1))
    assert first == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)
    assert second == datetime(2027, 10, 31, 1, 30, tzinfo=UTC)
    assert (question.value.first.astimezone(UTC), question.value.second.astimezone(UTC)) == (first, second)


def test_a_fold_inside_the_clock_time_does_not_answer_the_question():
    with pytest.raises(ClockTimeTwice):
        moment_from_local(date(2027, 10, 31), time(2, 30, fold=1), MADRID)


def test_a_half_hour_change_and_a_day_left_out_are_found():
    # Lord Howe moves its clocks by 30 minutes; Samoa left out 30 December 2011 (IANA time-zone database).
    with pytest.raises(ClockTimeMissing) as half_hour:
        moment_from_local(date(2027, 10, 3), time(2, 15), "Australia/Lord_Howe")
    assert half_hour.value.arrives - half_hour.value.leaves == timedelta(minutes=30)
    with pytest.raises(ClockTimeMissing) as left_out:
        moment_from_local(date(2011, 12, 30), time(12), "Pacific/Apia")
    assert left_out.value.leaves == datetime(2011, 12, 30)
    assert left_out.value.arrives == datetime(2011, 12, 31)


@pytest.mark.parametrize("name", ["", "Mars", "../etc/passwd", "Europe", "x" * 300, "a\0b", "/etc/localtime"])
def test_a_name_that_is_no_zone_is_refused(name):
    with pytest.raises(BadValue):
        moment_from_local(date(2027, 5, 8), time(6, 45), name)


def test_the_ends_of_the_calendar_are_refused_not_overflown():
    for day, zone in ((date(1, 1, 1), "Asia/Tokyo"), (date(9999, 12, 31), "Pacific/Pago_Pago")):
        with pytest.raises(BadValue) as refusal:
            moment_from_local(day, time(1 if day.year == 1 else 23), zone)
        assert refusal.value.field == "day"
