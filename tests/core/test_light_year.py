"""The year map: weeks by quarter-hours of the local clocks."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from participants.core.errors import BadValue, OutsideValidity
from trips.core import light, sun
from trips.core.light.year import week_days
from trips.core.values import Hide, LightSettings, Point, Session, View

POINT = Point(39.5, -6.2, 0.0, "Europe/Madrid")
VIEW = View("v", "view", 250.0, 6.0, 6.0, 4.5, horizon=((60.0, 4.0), (120.0, 9.0), (300.0, 5.0)))
HIDE = Hide("h", "Hide", POINT, (VIEW,), (), roof_height_m=0.5)


def test_a_cell_is_the_score_of_that_moment() -> None:
    found = light.year_map(VIEW, HIDE, 2027, "front")
    assert found.scores.shape == found.classes.shape == (52, 96)
    zone = ZoneInfo(POINT.time_zone)
    for week, quarter in ((3, 34), (18, 32), (25, 80), (44, 36)):
        day = found.days[week]
        starts = datetime(day.year, day.month, day.day, quarter // 4, 15 * (quarter % 4), tzinfo=zone)
        session = Session("s", "s", starts, starts + timedelta(minutes=5))
        sample = light.session_light(HIDE, session).views[0].samples[0]
        assert found.scores[week, quarter] == pytest.approx(sample.score, abs=1e-9)
        assert light.CLASS_NAMES[found.classes[week, quarter]] == sample.light_class
    assert np.all((found.scores >= 0.0) & (found.scores <= 1.0))


def test_dawn_and_dusk_lines_follow_the_events() -> None:
    found = light.year_map(VIEW, HIDE, 2027)
    for week in (0, 12, 25, 43, 51):
        events = {
            (event.limit_deg, event.rising): event.moment.hour + event.moment.minute / 60 + event.moment.second / 3600
            for event in sun.day_events(39.5, -6.2, found.days[week], POINT.time_zone)
        }
        assert found.dawn_h[week] == pytest.approx(events[-6.0, True], abs=0.02)
        assert found.sunrise_h[week] == pytest.approx(events[-0.833, True], abs=0.02)
        assert found.sunset_h[week] == pytest.approx(events[-0.833, False], abs=0.02)
        assert found.dusk_h[week] == pytest.approx(events[-6.0, False], abs=0.02)


def test_weeks_cover_the_year() -> None:
    days = week_days(2027)
    assert len(days) == 52
    assert days[0] == date(2027, 1, 4)
    assert all((after - before).days == 7 for before, after in pairwise(days))
    assert days[-1] == date(2027, 12, 27)


def test_polar_weeks_have_no_sunrise_line() -> None:
    north = replace(HIDE, point=Point(68.4, 17.4, 0.0, "Europe/Oslo"))
    found = light.year_map(VIEW, north, 2027)
    assert np.isnan(found.sunrise_h[24])
    assert np.isnan(found.sunset_h[0])
    assert not np.isnan(found.sunrise_h[12])


def test_a_southern_year_is_turned_round() -> None:
    south = replace(HIDE, point=Point(-36.85, 174.76, 0.0, "Pacific/Auckland"))
    found = light.year_map(VIEW, south, 2027)
    length = found.sunset_h - found.sunrise_h
    assert length[0] > 14.0 > 10.0 > length[25]


def test_an_equatorial_year_has_equal_days() -> None:
    equator = replace(HIDE, point=Point(0.0, 36.0, 0.0, "Africa/Nairobi"))
    found = light.year_map(VIEW, equator, 2027)
    assert np.all(np.abs(found.sunset_h - found.sunrise_h - 12.1) < 0.1)


def test_views_of_one_place_share_the_sun_and_agree_with_one_alone() -> None:
    other = replace(VIEW, key="w", bearing_deg=70.0)
    both = light.year_maps([(HIDE, VIEW), (HIDE, other)], 2027, "back", "partly")
    assert np.array_equal(both[1].scores, light.year_map(other, HIDE, 2027, "back", "partly").scores)
    assert not np.array_equal(both[0].scores, both[1].scores)


def test_a_day_with_a_clock_change_keeps_its_columns() -> None:
    """A year in which a week's middle day is the day of the change."""
    year = next(year for year in range(2020, 2032) if _last_sunday_of_march(year) in week_days(year))
    found = light.year_map(VIEW, HIDE, year)
    week = found.days.index(_last_sunday_of_march(year))
    assert abs(found.sunrise_h[week] - found.sunrise_h[week - 1]) > 0.7
    assert abs(found.sunrise_h[week + 1] - found.sunrise_h[week]) < 0.3


def _last_sunday_of_march(year: int) -> date:
    return max(date(year, 3, day) for day in range(25, 32) if date(year, 3, day).weekday() == 6)


def test_wrong_years_zones_and_wishes_are_refused() -> None:
    with pytest.raises(OutsideValidity):
        light.year_map(VIEW, HIDE, 1800)
    with pytest.raises(BadValue):
        light.year_map(VIEW, replace(HIDE, point=replace(POINT, time_zone="Mars/Olympus")), 2027)
    with pytest.raises(BadValue):
        light.year_map(VIEW, HIDE, 2027, "rim")


def test_settings_reach_the_map() -> None:
    plain = light.year_map(VIEW, HIDE, 2027)
    kinder = light.year_map(VIEW, HIDE, 2027, settings=LightSettings(shade_factor=0.6))
    assert kinder.scores.sum() > plain.scores.sum()
