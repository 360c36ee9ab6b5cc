"""Where the sun stands and when it passes a height, at any place and on any civil day.

The sun's apparent geocentric place comes from ephem (VSOP87 with nutation and aberration) at six-hourly moments,
which are the same for every place on the earth; everything between and around them is arrays. Against ephem asked
for each moment alone it stays within 0.0001 deg; ephem itself is within 0.001 deg of JPL's DE421.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

import ephem
import numpy as np
from numpy.typing import NDArray

from participants.core.errors import BadValue, OutsideValidity
from trips.core.angles import require_between, wrapped_deg
from trips.core.local_time import zone_of

Numbers = NDArray[np.float64]

SUNRISE_DEG = -0.833  # centre, geometric: 34' of refraction and 16' of half disc (US Naval Observatory's convention)
CIVIL_DEG = -6.0  # by definition, as the next two
NAUTICAL_DEG = -12.0
ASTRONOMICAL_DEG = -18.0
LOW_SUN_DEG = 6.0  # low light, as photographers have it; common practice, no source
EVENT_LIMITS_DEG = (SUNRISE_DEG, CIVIL_DEG, NAUTICAL_DEG, ASTRONOMICAL_DEG, LOW_SUN_DEG)
FIRST_YEAR, LAST_YEAR = 1900, 2100  # the predicted turning of the earth is good to seconds in between

_EPHEM_DAY_OF_1970 = 25567.5  # ephem counts days from noon of 31 December 1899
_KNOTS_PER_DAY = 4  # six-hourly: what lies between them is then within 0.0001 deg
_SIDEREAL_TURNS_PER_DAY = 1.00273790935  # mean sidereal days in a solar day (Meeus, chapter 12)
_EARTH_RADIUS_AU = 4.26352e-5  # at the equator: 6378.14 km
_GRID_S = 600.0  # a coarse look for crossings; each is narrowed afterwards


@dataclass(frozen=True, slots=True)
class SunEvent:
    """The sun's centre passes `limit_deg` (geometric height), upwards when `rising`, at `moment` (local, aware)."""

    limit_deg: float
    rising: bool
    moment: datetime


@dataclass(frozen=True, slots=True, eq=False)
class SunTrack:
    """The sun at one place at many moments; arrays of one length.

    `stamps` in seconds since 1970 (UTC); `azimuth_deg` from true north, clockwise; `geometric_deg` the centre's height
    without air; `apparent_deg` with standard refraction while the geometric height is at or above -0.833, else equal.
    """

    stamps: Numbers
    azimuth_deg: Numbers
    geometric_deg: Numbers
    apparent_deg: Numbers


@lru_cache(maxsize=8192)
def _knot(index: int) -> tuple[float, float, float, float, float]:
    """Unit vector to the sun (equator and equinox of date), distance in au, Greenwich angle less the mean rate."""
    day = index / _KNOTS_PER_DAY
    sun = ephem.Sun()
    sun.compute(ephem.Date(day))
    greenwich = ephem.Observer()
    greenwich.lon, greenwich.lat, greenwich.date = "0", "0", ephem.Date(day)
    across = float(np.cos(sun.g_dec))
    mean_angle = 2.0 * np.pi * (day * _SIDEREAL_TURNS_PER_DAY % 1.0)
    rest = (float(greenwich.sidereal_time()) - mean_angle) % (2.0 * np.pi)
    return (
        across * float(np.cos(sun.g_ra)),
        across * float(np.sin(sun.g_ra)),
        float(np.sin(sun.g_dec)),
        float(sun.earth_distance),
        rest,
    )


def _knots_at(days: Numbers) -> tuple[Numbers, Numbers, Numbers, Numbers, Numbers]:
    """The five quantities of `_knot` at any moments, by the cubic through the four knots around each."""
    places = days * _KNOTS_PER_DAY
    left = np.floor(places).astype(np.int64)
    wanted = np.unique((np.unique(left)[:, None] + np.arange(-1, 3)).ravel())
    table = np.array([_knot(int(index)) for index in wanted])
    table[:, 4] = np.unwrap(table[:, 4])
    first = np.searchsorted(wanted, left - 1)
    part = places - left
    weights = (
        -part * (part - 1.0) * (part - 2.0) / 6.0,
        (part + 1.0) * (part - 1.0) * (part - 2.0) / 2.0,
        -(part + 1.0) * part * (part - 2.0) / 2.0,
        (part + 1.0) * part * (part - 1.0) / 6.0,
    )
    mixed = sum(weight[:, None] * table[first + step] for step, weight in enumerate(weights))
    columns = np.asarray(mixed).T
    return columns[0], columns[1], columns[2], columns[3], columns[4]


def apparent_place(stamps: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Right ascension and declination in degrees (equinox of date) and distance in au, seen from the earth's centre."""
    towards_x, towards_y, towards_z, distance_au, _ = _knots_at(np.asarray(stamps) / 86400.0 + _EPHEM_DAY_OF_1970)
    ascension = wrapped_deg(np.degrees(np.arctan2(towards_y, towards_x)))
    return ascension, np.degrees(np.arctan2(towards_z, np.hypot(towards_x, towards_y))), distance_au


def apparent_altitude_deg(geometric_deg: Numbers) -> Numbers:
    """Apparent height for standard air (1010 hPa, 10 C) while the geometric one is at or above -0.833 deg.

    Bennett (1982), turned round: the apparent height is the one from which his refraction leads back to the geometric
    one; started from Saemundsson (1986). Below -0.833 deg the geometric height is returned. Good to 0.1 minute of arc.
    """
    high = np.maximum(geometric_deg, SUNRISE_DEG)
    apparent = high + 1.02 / 60.0 / np.tan(np.radians(high + 10.3 / (high + 5.11)))
    for _ in range(2):
        apparent = high + 1.0 / 60.0 / np.tan(np.radians(apparent + 7.31 / (apparent + 4.4)))
    return np.where(geometric_deg >= SUNRISE_DEG, apparent, geometric_deg)


def track(latitude_deg: float, longitude_deg: float, stamps: Numbers) -> SunTrack:
    """The sun at a place at moments given in seconds since 1970 (UTC).

    Latitude -90..90, longitude -180..360, years 1900-2100. Raises BadValue and OutsideValidity.
    Topocentric: the earth's radius is taken off, the observer's height above the sea is not (below 0.00001 deg).
    """
    latitude = np.radians(require_between("latitude_deg", latitude_deg, -90.0, 90.0))
    longitude = np.radians(require_between("longitude_deg", longitude_deg, -180.0, 360.0))
    stamps = np.asarray(stamps, dtype=np.float64)
    if stamps.size == 0:
        return SunTrack(stamps, stamps, stamps, stamps)
    _require_years(float(stamps.min()), float(stamps.max()))
    days = stamps / 86400.0 + _EPHEM_DAY_OF_1970
    towards_x, towards_y, towards_z, distance_au, rest = _knots_at(days)
    angle = 2.0 * np.pi * np.mod(days * _SIDEREAL_TURNS_PER_DAY, 1.0) + rest + longitude
    cosine, sine = np.cos(angle), np.sin(angle)
    meridian = towards_x * cosine + towards_y * sine
    east = towards_y * cosine - towards_x * sine
    north = towards_z * np.cos(latitude) - meridian * np.sin(latitude)
    above = towards_z * np.sin(latitude) + meridian * np.cos(latitude) - _EARTH_RADIUS_AU / distance_au
    geometric = np.degrees(np.arctan2(above, np.hypot(east, north)))
    azimuth = wrapped_deg(np.degrees(np.arctan2(east, north)))
    return SunTrack(stamps, azimuth, geometric, apparent_altitude_deg(geometric))


def _require_years(first_stamp: float, last_stamp: float) -> None:
    low = datetime(FIRST_YEAR, 1, 1, tzinfo=UTC).timestamp() - 86400.0
    high = datetime(LAST_YEAR + 1, 1, 1, tzinfo=UTC).timestamp() + 86400.0
    for stamp in (first_stamp, last_stamp):
        if not low <= stamp <= high:
            year = (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=stamp)).year
            raise OutsideValidity(model="sun", value=year, low=FIRST_YEAR, high=LAST_YEAR)


def position(
    latitude_deg: float, longitude_deg: float, elevation_m: float, moments: Sequence[datetime]
) -> list[tuple[float, float]]:
    """Azimuth (true north, clockwise) and height of the sun's centre in degrees at aware moments.

    The height is apparent (1010 hPa, 10 C) while the geometric one is at or above -0.833 deg, geometric below.
    `elevation_m` moves the sun by less than can be measured; it is accepted so that a place is always three numbers.
    Raises BadValue (a place off the earth, a moment without a zone), OutsideValidity (years).
    """
    require_between("elevation_m", elevation_m, -500.0, 9000.0, "m")
    found = track(latitude_deg, longitude_deg, stamps_of(moments))
    return list(zip(found.azimuth_deg.tolist(), found.apparent_deg.tolist(), strict=True))


def stamps_of(moments: Sequence[datetime]) -> Numbers:
    """Seconds since 1970 of aware moments. Raises BadValue(field="moment") for one without a zone."""
    for moment in moments:
        if moment.tzinfo is None:
            raise BadValue(field="moment", value=moment, low=None, high=None, unit="")
    return np.array([moment.timestamp() for moment in moments], dtype=np.float64)


def day_bounds(day: date, time_zone: str) -> tuple[float, float]:
    """First second of a local civil day and of the next, in seconds since 1970: 23, 24 or 25 hours apart."""
    zone = zone_of(time_zone)
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise OutsideValidity(model="sun", value=day.year, low=FIRST_YEAR, high=LAST_YEAR)
    following = day + timedelta(days=1)
    starts = datetime(day.year, day.month, day.day, tzinfo=zone)
    ends = datetime(following.year, following.month, following.day, tzinfo=zone)
    return starts.timestamp(), ends.timestamp()


def day_events(latitude_deg: float, longitude_deg: float, day: date, time_zone: str) -> list[SunEvent]:
    """All passages of the five limits within a local civil day, in order of time.

    None, one or two of a kind; a touch that lasts less than seconds may be missed. Within 10 s of JPL's DE421.
    """
    zone = zone_of(time_zone)
    grid = _day_grid(latitude_deg, longitude_deg, day, time_zone)
    found = sorted(_crossings(latitude_deg, longitude_deg, grid, EVENT_LIMITS_DEG))
    return [SunEvent(limit_deg, rising, datetime.fromtimestamp(stamp, zone)) for stamp, rising, limit_deg in found]


def stays(latitude_deg: float, longitude_deg: float, day: date, time_zone: str, limit_deg: float) -> str | None:
    """ "up" or "down" when the sun's centre keeps above or below `limit_deg` all the local civil day, else None."""
    grid = _day_grid(latitude_deg, longitude_deg, day, time_zone)
    if _crossings(latitude_deg, longitude_deg, grid, (limit_deg,)):
        return None
    return "up" if float(np.mean(grid.geometric_deg - limit_deg)) > 0.0 else "down"


def solar_noon(latitude_deg: float, longitude_deg: float, day: date, time_zone: str) -> datetime:
    """The moment of the local civil day at which the sun stands highest (to about a second)."""
    grid = _day_grid(latitude_deg, longitude_deg, day, time_zone)
    best = float(grid.stamps[int(np.argmax(grid.geometric_deg))])
    for half_width_s in (600.0, 30.0):
        around = np.linspace(best - half_width_s, best + half_width_s, 41)
        inside = np.clip(around, grid.stamps[0], grid.stamps[-1])
        best = float(inside[int(np.argmax(track(latitude_deg, longitude_deg, inside).geometric_deg))])
    return datetime.fromtimestamp(best, zone_of(time_zone))


def _day_grid(latitude_deg: float, longitude_deg: float, day: date, time_zone: str) -> SunTrack:
    starts, ends = day_bounds(day, time_zone)
    return track(latitude_deg, longitude_deg, np.linspace(starts, ends, int((ends - starts) / _GRID_S) + 2))


def _crossings(
    latitude_deg: float, longitude_deg: float, grid: SunTrack, limits_deg: tuple[float, ...]
) -> list[tuple[float, bool, float]]:
    """(stamp, rising, limit) of each passage from the grid's first moment to before its last."""
    brackets: list[tuple[float, float, float]] = []
    for limit_deg in limits_deg:
        above = grid.geometric_deg - limit_deg
        changes = np.flatnonzero((above[:-1] < 0.0) != (above[1:] < 0.0))
        brackets += [(float(grid.stamps[at]), float(grid.stamps[at + 1]), limit_deg) for at in changes]
        brackets += _hidden_brackets(latitude_deg, longitude_deg, grid.stamps, above, limit_deg)
    if not brackets:
        return []
    left, right, limits = np.array(brackets).T
    rows = np.arange(left.size)
    rising = np.zeros(left.size, dtype=bool)
    for _ in range(3):
        inner = left[:, None] + (right - left)[:, None] * np.linspace(0.0, 1.0, 11)
        heights = track(latitude_deg, longitude_deg, inner.ravel()).geometric_deg.reshape(inner.shape)
        below = heights < limits[:, None]
        at = np.argmax(below[:, :-1] != below[:, 1:], axis=1)
        rising = below[rows, at]
        left, right = inner[rows, at], inner[rows, at + 1]
    found = zip(((left + right) / 2.0).tolist(), rising.tolist(), limits.tolist(), strict=True)
    return [passage for passage in found if passage[0] < grid.stamps[-1]]


def _hidden_brackets(
    latitude_deg: float, longitude_deg: float, stamps: Numbers, above: Numbers, limit_deg: float
) -> list[tuple[float, float, float]]:
    """Pairs of brackets where the sun only just passes the limit and comes back between two moments of the grid."""
    side = np.where(above < 0.0, -1.0, 1.0)
    middle = side[1:-1]
    turns = (middle * above[1:-1] <= middle * above[:-2]) & (middle * above[1:-1] <= middle * above[2:])
    alike = (side[:-2] == middle) & (side[2:] == middle)
    found: list[tuple[float, float, float]] = []
    for at in np.flatnonzero(turns & alike & (np.abs(above[1:-1]) < 0.2)) + 1:
        inner = np.linspace(stamps[at - 1], stamps[at + 1], 241)
        heights = side[at] * (track(latitude_deg, longitude_deg, inner).geometric_deg - limit_deg)
        deepest = int(np.argmin(heights))
        if heights[deepest] < 0.0:
            found.append((float(inner[0]), float(inner[deepest]), limit_deg))
            found.append((float(inner[deepest]), float(inner[-1]), limit_deg))
    return found
