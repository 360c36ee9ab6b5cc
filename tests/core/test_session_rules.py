"""Sessions from rules, against the sun's times of the base site (rise 07:18, set 21:25 on 8 May 2027)."""

from datetime import date, time, timedelta

import pytest

from participants.core.errors import BadValue, NeverHappens
from trips.core.local_time import ClockTimeMissing
from trips.core.session_rules import SessionRule, overlapping, propose, propose_all
from trips.core.values import Point

SITE = Point(39.5, -6.2, 0.0, "Europe/Madrid")
NORTH = Point(68.4, 17.4, 0.0, "Europe/Oslo")
DAY = date(2027, 5, 8)
EARLY = SessionRule("early", "start", "sunrise", -30.0, None, 4.0)
LATE = SessionRule("late", "end", "sunset", 20.0, None, 4.0)


def clock(moment):
    return f"{moment:%H:%M}"


def test_early_begins_half_an_hour_before_sunrise_rounded_down():
    session = propose(EARLY, SITE, DAY)
    assert (clock(session.starts_at), clock(session.ends_at)) == ("06:45", "10:45")
    assert clock(session.sunrise) == "07:18"


def test_late_ends_twenty_minutes_after_sunset_rounded_up():
    session = propose(LATE, SITE, DAY)
    assert (clock(session.starts_at), clock(session.ends_at)) == ("17:50", "21:50")  # sunset 21:25 and some seconds
    assert session.starts_at.utcoffset() == timedelta(hours=2)


def test_a_clock_time_is_local():
    session = propose(SessionRule("midday", "start", "clock", 0.0, time(12, 0), 2.0), SITE, DAY)
    assert session.starts_at.isoformat() == "2027-05-08T12:00:00+02:00"


def test_a_night_session_crosses_midnight():
    session = propose(SessionRule("night", "start", "sunset", 30.0, None, 5.0), SITE, DAY)
    assert session.ends_at.date() == DAY + timedelta(days=1)


def test_a_session_across_the_change_of_clocks_keeps_its_real_length():
    session = propose(SessionRule("night", "start", "clock", 0.0, time(23, 0), 6.0), SITE, date(2027, 3, 27))
    assert session.ends_at.timestamp() - session.starts_at.timestamp() == 6 * 3600
    assert clock(session.ends_at) == "06:00"  # one hour of the clock was skipped


def test_where_the_sun_stays_up_a_rule_by_sunset_is_refused_with_the_day():
    with pytest.raises(NeverHappens) as refused:
        propose(LATE, NORTH, date(2027, 6, 5))
    assert refused.value.event == "sunset"
    assert refused.value.day == date(2027, 6, 5)


def test_where_the_sun_stays_up_a_rule_by_the_clock_works():
    session = propose(SessionRule("late", "start", "clock", 0.0, time(20, 0), 4.0), NORTH, date(2027, 6, 5))
    assert session.sunrise is None
    assert session.starts_at.isoformat() in ("2027-06-05T18:00:00+00:00", "2027-06-05T20:00:00+02:00")


def test_a_skipped_clock_time_is_refused():
    with pytest.raises(ClockTimeMissing):
        propose(SessionRule("night", "start", "clock", 0.0, time(2, 30), 4.0), SITE, date(2027, 3, 28))


@pytest.mark.parametrize("hours", [0.0, -1.0, 25.0])
def test_a_length_that_cannot_be_is_refused(hours):
    with pytest.raises(BadValue):
        propose(SessionRule("early", "start", "sunrise", 0.0, None, hours), SITE, DAY)


def test_all_rules_on_all_days_come_in_order():
    days = tuple(DAY + timedelta(days=number) for number in range(3))
    sessions = propose_all((LATE, EARLY), SITE, days)
    assert len(sessions) == 6
    assert sessions == sorted(sessions, key=lambda session: session.starts_at)
    assert [session.kind for session in sessions[:2]] == ["early", "late"]


def test_a_southern_day_has_its_own_sun():
    session = propose(EARLY, Point(-36.85, 174.76, 0.0, "Pacific/Auckland"), date(2027, 5, 8))
    assert session.sunrise.utcoffset() == timedelta(hours=12)
    assert timedelta(minutes=30) <= session.sunrise - session.starts_at < timedelta(minutes=35)
    assert session.sunset - session.sunrise < timedelta(hours=11)  # autumn there


def test_sessions_overlap_where_they_share_time_and_not_where_they_touch():
    rules = (
        SessionRule("early", "start", "clock", 0.0, time(6), 4.0),
        SessionRule("midday", "start", "clock", 0.0, time(10), 3.0),
        SessionRule("night", "start", "clock", 0.0, time(23), 8.0),  # into the next early one
    )
    made = propose_all(rules, SITE, (DAY, DAY + timedelta(days=1)))
    assert [one.kind for one in made] == ["early", "midday", "night"] * 2
    assert overlapping(made) == [(2, 3)]
