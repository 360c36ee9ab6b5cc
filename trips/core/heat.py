"""Heat in a hide during a session: how it feels, how much water, whether to start later. For shade.

Guidance of public bodies is quoted as they print it; it is a reminder, not medical advice.
"""

import math
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from participants.core.units import celsius_from_fahrenheit, fahrenheit_from_celsius
from trips.core.angles import require_between
from trips.core.values import Hide, HourForecast, Session

# US National Weather Service, "Heat Index" tiers, deg F, from the lower mark on
TIERS_F = ((80.0, "caution"), (90.0, "extreme_caution"), (103.0, "danger"), (125.0, "extreme_danger"))
OSHA_WATER_L, OSHA_EVERY_MIN, OSHA_CEILING_L_PER_H, OSHA_ELECTROLYTES_AFTER_H = 0.24, (15, 20), 1.4, 2.0

# NIOSH work/rest schedule: deg F (adjusted air temperature) -> minutes of work, of rest in an hour; from that mark
WORK_REST_F: dict[str, tuple[tuple[int, int, int], ...]] = {
    "light": ((106, 45, 15), (107, 40, 20), (108, 35, 25), (109, 30, 30), (110, 15, 45), (111, 0, 60)),
    "moderate": (
        (100, 45, 15),
        (101, 40, 20),
        (102, 35, 25),
        (103, 30, 30),
        (105, 25, 35),
        (106, 20, 40),
        (107, 15, 45),
        (108, 0, 60),
    ),
    "heavy": (
        (95, 45, 15),
        (97, 40, 20),
        (98, 35, 25),
        (100, 30, 30),
        (102, 25, 35),
        (103, 20, 40),
        (105, 15, 45),
        (106, 0, 60),
    ),
}


# Water in an hour of sitting in shade, by how warm it feels (the index where known, else the air in the hide), deg F,
# from that mark on: below caution common practice, no source; then half a litre, as for easy work from 78 F WBGT
# (Montain and others, Military Medicine 164, 1999); then OSHA's cup every 15 to 20 minutes.
WATER_L_PER_H = ((-math.inf, 0.25), (80.0, 0.5), (90.0, 0.75))


@dataclass(frozen=True, slots=True)
class HeatSettings:
    """Water in an hour where no forecast says how warm it is, bottle size, step of a later start."""

    water_l_per_h: float = 0.75
    bottle_l: float = 1.0
    start_step_min: float = 30.0


@dataclass(frozen=True, slots=True)
class HeatMoment:
    """A moment of a session: air in the shade, in the hide (with its measured excess), index and tier if known.

    The index is that of the hide's air: as much vapour as outside, so less relative humidity where it is hotter.
    """

    moment: datetime
    air_c: float
    hide_c: float
    index_c: float | None
    tier: str


@dataclass(frozen=True, slots=True)
class SessionHeat:
    """What the forecast means for people in one hide during one session.

    `starts_at`/`ends_at`: the stretch proposed (the session's own when nothing is wrong; None, None: no half hour
    keeps below the limit). `water_l` and `bottles` per person for that stretch. `tier` the worst met. `assumed`: what
    nobody measured ("excess_c"). `covered`: whether the forecast reaches over the whole session; where it does not,
    its first or last value is held.
    """

    moments: tuple[HeatMoment, ...]
    limit_c: float | None
    above_limit: bool
    worst_hide_c: float | None
    tier: str
    starts_at: datetime | None
    ends_at: datetime | None
    water_l: float
    bottles: int
    assumed: tuple[str, ...] = ()
    covered: bool = True

    @property
    def moved(self) -> bool:
        """Whether another start or end than the session's is proposed."""
        return self.above_limit


def heat_index_f(temperature_f: float, humidity_pct: float) -> float:
    """The heat index in deg F for shade and light wind.

    US National Weather Service: Steadman's simple form averaged with the temperature; where that reaches 80 F,
    Rothfusz (1990, SR 90-23) with the adjustments for dry (< 13 %) and humid (> 85 %) air. The regression is within
    1.3 F of Steadman's table; its use outside 80-110 F is an extrapolation. Humidity 0-100 %.
    """
    require_between("humidity_pct", humidity_pct, 0.0, 100.0, "%")
    t, r = float(temperature_f), float(humidity_pct)
    simple = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + r * 0.094)
    if (simple + t) / 2.0 < 80.0:
        return (simple + t) / 2.0
    index = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t * t
        - 5.481717e-2 * r * r
        + 1.22874e-3 * t * t * r
        + 8.5282e-4 * t * r * r
        - 1.99e-6 * t * t * r * r
    )
    if r < 13.0 and 80.0 <= t <= 112.0:
        index -= (13.0 - r) / 4.0 * math.sqrt((17.0 - abs(t - 95.0)) / 17.0)
    elif r > 85.0 and 80.0 <= t <= 87.0:
        index += (r - 85.0) / 10.0 * (87.0 - t) / 5.0
    return index


def saturation_hpa(air_c: float) -> float:
    """Pressure of water vapour over water at which air is full of it, hPa.

    Magnus form of Alduchov & Eskridge (1996, Journal of Applied Meteorology 35, eq. 21), within 0.4 % from -40 to 50 C.
    """
    return 6.1094 * math.exp(17.625 * air_c / (air_c + 243.04))


def humidity_at(air_c: float, humidity_pct: float, other_c: float) -> float:
    """Relative humidity of the same air, with the same vapour in it, at another temperature; at most 100 per cent."""
    require_between("humidity_pct", humidity_pct, 0.0, 100.0, "%")
    return min(100.0, humidity_pct * saturation_hpa(air_c) / saturation_hpa(other_c))


def tier_of(index_f: float) -> str:
    """The National Weather Service's tier of a heat index in deg F; "none" below 80."""
    reached = [name for mark_f, name in TIERS_F if index_f >= mark_f]
    return reached[-1] if reached else "none"


def work_rest_min(adjusted_f: float, effort: str = "light") -> tuple[int, int]:
    """NIOSH: minutes of work and of rest in an hour at an adjusted air temperature in deg F; (0, 60) = caution, stop.

    `effort`: "light" (sitting), "moderate" (walking with gear), "heavy". NIOSH adds to the air temperature for sun
    and for humidity before the table is read; what is passed here is taken as it is.
    """
    work, rest = 60, 0
    for mark_f, minutes_work, minutes_rest in WORK_REST_F[effort]:
        if adjusted_f >= mark_f:
            work, rest = minutes_work, minutes_rest
    return work, rest


def air_at(forecast: tuple[HourForecast, ...], moment: datetime) -> tuple[float, float | None] | None:
    """(air in Celsius, humidity in per cent or None), straight line between the forecast's moments; None outside."""
    ordered = sorted(
        ((hour.moment.timestamp(), hour.air_c, hour.humidity_pct) for hour in forecast), key=lambda hour: hour[0]
    )
    stamp = moment.timestamp()
    for hour_stamp, air_c, humidity_pct in ordered:
        if hour_stamp == stamp:
            return air_c, humidity_pct
    for (early, early_c, early_pct), (late, late_c, late_pct) in pairwise(ordered):
        if early < stamp < late:
            part = (stamp - early) / (late - early)
            known = early_pct is not None and late_pct is not None
            humidity = _between(early_pct or 0.0, late_pct or 0.0, part) if known else None
            return _between(early_c, late_c, part), humidity
    return None


def _between(first: float, last: float, part: float) -> float:
    return first + (last - first) * part


def session_heat(
    hide: Hide, session: Session, limit_c: float | None = None, settings: HeatSettings | None = None
) -> SessionHeat:
    """Heat of a session in a hide, the water it asks for, and a later start or earlier end where a limit is passed.

    `limit_c`: the session's own limit goes before it; None: no limit. A limit counts in hides that keep the heat:
    sunken or measured hotter than the air, and without a fan. Compared is the air plus the hide's measured excess
    (0 where nobody measured, named in `assumed`). A proposal keeps to whole steps from the session's start; it begins
    with the first step that stays at or below the limit and lasts as long as the steps do.
    """
    settings = settings or HeatSettings()
    limit_c = session.heat_limit_c if session.heat_limit_c is not None else limit_c
    moments = _moments(hide, session, settings.start_step_min)
    keeps_heat = (hide.sunken or (hide.excess_c or 0.0) > 0.0) and not hide.fan
    above = limit_c is not None and keeps_heat and any(moment.hide_c > limit_c for moment in moments)
    starts_at: datetime | None = session.starts_at
    ends_at: datetime | None = session.ends_at
    if above and limit_c is not None:
        starts_at, ends_at = _stretch_below(moments, limit_c)
    water_l, bottles = water_for(moments, starts_at, ends_at, settings) if starts_at and ends_at else (0.0, 0)
    worst = max(moments, key=lambda moment: (moment.index_c or -99.0, moment.hide_c), default=None)
    return SessionHeat(
        moments=moments,
        limit_c=limit_c,
        above_limit=above,
        worst_hide_c=max((moment.hide_c for moment in moments), default=None),
        tier=worst.tier if worst else "unknown",
        starts_at=starts_at,
        ends_at=ends_at,
        water_l=water_l,
        bottles=bottles,
        assumed=("excess_c",) if hide.excess_c is None else (),
        covered=all(air_at(session.forecast, moment) for moment in (session.starts_at, session.ends_at)),
    )


def water_for(
    moments: tuple[HeatMoment, ...], starts_at: datetime, ends_at: datetime, settings: HeatSettings | None = None
) -> tuple[float, int]:
    """Litres, to the next quarter, and whole bottles for one person who sits from one aware moment to another.

    `moments`: of a SessionHeat that covers the stretch, each step by its hotter end; none: as much as in the heat.
    """
    settings = settings or HeatSettings()
    first, last = starts_at.timestamp(), ends_at.timestamp()
    if moments:
        steps = [
            (
                min(late.moment.timestamp(), last) - max(early.moment.timestamp(), first),
                max(map(_thirst, (early, late))),
            )
            for early, late in pairwise(moments)
        ]
        litres = sum(seconds * rate for seconds, rate in steps if seconds > 0.0) / 3600.0
    else:
        litres = settings.water_l_per_h * (last - first) / 3600.0
    water_l = math.ceil(litres * 4.0 - 1e-6) / 4.0
    return water_l, math.ceil(water_l / settings.bottle_l - 1e-9)


def _thirst(moment: HeatMoment) -> float:
    """Litres in an hour at a moment."""
    feels_f = fahrenheit_from_celsius(moment.hide_c if moment.index_c is None else moment.index_c)
    return [litres for mark_f, litres in WATER_L_PER_H if feels_f >= mark_f - 1e-9][-1]


def _held(forecast: tuple[HourForecast, ...], moment: datetime) -> tuple[float, float | None] | None:
    """As `air_at`; before the first and after the last moment of the forecast their values are held."""
    if not forecast:
        return None
    first, last = min(forecast, key=_stamp), max(forecast, key=_stamp)
    if moment.timestamp() <= _stamp(first):
        return first.air_c, first.humidity_pct
    if moment.timestamp() >= _stamp(last):
        return last.air_c, last.humidity_pct
    return air_at(forecast, moment)


def _stamp(hour: HourForecast) -> float:
    return hour.moment.timestamp()


def _moments(hide: Hide, session: Session, step_min: float) -> tuple[HeatMoment, ...]:
    """The session's start, every step after it and its end."""
    first, last = session.starts_at.timestamp(), session.ends_at.timestamp()
    count = math.ceil((last - first) / (60.0 * step_min))
    stamps = [first + 60.0 * step_min * number for number in range(count)] + [last]
    times = [datetime.fromtimestamp(stamp, session.starts_at.tzinfo) for stamp in stamps]
    found = []
    for moment in times:
        air = _held(session.forecast, moment)
        if air is None:
            continue
        hide_c = air[0] + (hide.excess_c or 0.0)
        humidity_pct = None if air[1] is None else humidity_at(air[0], air[1], hide_c)
        index_f = None if humidity_pct is None else heat_index_f(fahrenheit_from_celsius(hide_c), humidity_pct)
        tier = "unknown" if index_f is None else tier_of(index_f)
        index_c = None if index_f is None else celsius_from_fahrenheit(index_f)
        found.append(HeatMoment(moment, air[0], hide_c, index_c, tier))
    return tuple(found)


def _stretch_below(moments: tuple[HeatMoment, ...], limit_c: float) -> tuple[datetime | None, datetime | None]:
    """The longest run of steps whose two ends keep at or below the limit (the earliest of equals)."""
    best: tuple[datetime | None, datetime | None] = (None, None)
    longest_s = 0.0
    run_start: datetime | None = None
    for before, after in pairwise(moments):
        fits = before.hide_c <= limit_c and after.hide_c <= limit_c
        run_start = (run_start or before.moment) if fits else None
        if run_start and after.moment.timestamp() - run_start.timestamp() > longest_s:
            longest_s = after.moment.timestamp() - run_start.timestamp()
            best = (run_start, after.moment)
    return best
