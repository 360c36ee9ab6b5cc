"""A view's light over a year: weeks by quarter-hours."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trips.core.light.geometry import classes, unlit
from trips.core.light.score import ViewSun, lights_of, scored
from trips.core.local_time import zone_of
from trips.core.sun import CIVIL_DEG, SUNRISE_DEG, SunTrack, day_bounds, track
from trips.core.values import Hide, LightSettings, View

Numbers = NDArray[np.float64]

WEEKS = 52  # the light changes little within one
QUARTERS = 96  # of an hour, in a day


@dataclass(frozen=True, slots=True, eq=False)
class YearMap:
    """Scores and classes of a view, one row per week (its middle day), one column per quarter-hour of local clocks.

    `dawn_h`, `sunrise_h`, `sunset_h`, `dusk_h`: local clock hours of each week, nan where the sun does not pass.
    `scores` and `classes` hold the moment at the start of each quarter-hour.
    """

    year: int
    wish: str
    sky: str
    days: tuple[date, ...]
    scores: Numbers
    classes: NDArray[np.int64]
    dawn_h: Numbers
    sunrise_h: Numbers
    sunset_h: Numbers
    dusk_h: Numbers


def week_days(year: int) -> tuple[date, ...]:
    """The middle days of the 52 weeks counted from 1 January (the last of them is a day or two longer)."""
    return tuple(date(year, 1, 4) + timedelta(days=7 * week) for week in range(WEEKS))


def year_map(
    view: View,
    hide: Hide,
    year: int,
    wish: str = "front",
    sky: str = "clear",
    settings: LightSettings | None = None,
) -> YearMap:
    """A view's light on the middle day of each week, at each quarter-hour of the local clocks.

    Raises BadValue (wish, sky, zone), OutsideValidity (year). A quarter-hour that the clocks leave out shows the
    moment that follows it.
    """
    return year_maps([(hide, view)], year, wish, sky, settings)[0]


def year_maps(
    views: Sequence[tuple[Hide, View]],
    year: int,
    wish: str = "front",
    sky: str = "clear",
    settings: LightSettings | None = None,
) -> list[YearMap]:
    """`year_map` of several (hide, view) at once; views of one place share the sun."""
    settings = settings or LightSettings()
    days = week_days(year)
    maps = []
    for hide, view in views:
        place = hide.point
        sun, dawn_h, sunrise_h, sunset_h, dusk_h = _year_sun(
            place.latitude_deg, place.longitude_deg, place.time_zone, year
        )
        seen = ViewSun(sun, hide, view, unlit(sun, hide, view))
        scores = scored(seen, lights_of(sun, sky), wish, settings).scores
        codes = classes(sun, view, settings)
        shape = (WEEKS, QUARTERS)
        maps.append(
            YearMap(
                year,
                wish,
                sky,
                days,
                scores.reshape(shape),
                codes.reshape(shape),
                dawn_h,
                sunrise_h,
                sunset_h,
                dusk_h,
            )
        )
    return maps


@lru_cache(maxsize=16)
def _year_sun(
    latitude_deg: float, longitude_deg: float, time_zone: str, year: int
) -> tuple[SunTrack, Numbers, Numbers, Numbers, Numbers]:
    """The sun on the 52 days of a year at one place, and the hours at which it passes -6 and -0.833 deg."""
    stamps = np.concatenate([_quarter_stamps(day, time_zone) for day in week_days(year)])
    sun = track(latitude_deg, longitude_deg, stamps)
    heights = sun.geometric_deg.reshape(WEEKS, QUARTERS)
    dawn_h, dusk_h = _passages_h(heights - CIVIL_DEG)
    sunrise_h, sunset_h = _passages_h(heights - SUNRISE_DEG)
    return sun, dawn_h, sunrise_h, sunset_h, dusk_h


def _quarter_stamps(day: date, time_zone: str) -> Numbers:
    """The quarter-hours that the local clocks show on a day, in seconds since 1970."""
    starts, ends = day_bounds(day, time_zone)
    if ends - starts == 86400.0:
        return starts + 900.0 * np.arange(QUARTERS, dtype=np.float64)
    zone = zone_of(time_zone)
    clocks = [datetime(day.year, day.month, day.day, q // 4, 15 * (q % 4), tzinfo=zone) for q in range(QUARTERS)]
    return np.array([clock.timestamp() for clock in clocks], dtype=np.float64)


def _passages_h(above: Numbers) -> tuple[Numbers, Numbers]:
    """Clock hours at which each row rises first and falls last through 0 (straight between); nan: never."""
    rises, falls = np.full(above.shape[0], np.nan), np.full(above.shape[0], np.nan)
    for row, heights in enumerate(above):
        up = np.flatnonzero((heights[:-1] < 0.0) & (heights[1:] >= 0.0))
        down = np.flatnonzero((heights[:-1] >= 0.0) & (heights[1:] < 0.0))
        if up.size:
            rises[row] = _passage_h(heights, int(up[0]))
        if down.size:
            falls[row] = _passage_h(heights, int(down[-1]))
    return rises, falls


def _passage_h(heights: Numbers, at: int) -> float:
    return float((at + heights[at] / (heights[at] - heights[at + 1])) / 4.0)
