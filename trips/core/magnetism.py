"""Compass bearings made true: the declination of the World Magnetic Model for a place and a day."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from pygeomag import GeoMag

from participants.core.errors import OutsideValidity
from trips.core.angles import require_between, required_bearing_deg

FIRST_DAY, LAST_DAY = date(2015, 1, 1), date(2029, 12, 31)  # of the models in the package


@dataclass(frozen=True, slots=True)
class Declination:
    """`declination_deg`: compass north east (+) or west (-) of true north, with its model, dates and error.

    `compass`: "good"; "poor" near the magnetic poles; "useless" where the needle no longer finds north.
    """

    declination_deg: float
    uncertainty_deg: float
    model: str
    valid_from: date
    valid_to: date
    compass: str


@lru_cache(maxsize=4)
def _model(base_year: int) -> GeoMag:
    return GeoMag(base_year=base_year)


def declination(latitude_deg: float, longitude_deg: float, elevation_m: float, day: date) -> Declination:
    """Declination at a place on a day, by the World Magnetic Model of that day's five years (NOAA and BGS).

    Error as the model's own report states it (one standard deviation, about 0.3-0.5 deg at middle latitudes).
    Raises OutsideValidity before 2015 and after 2029, BadValue for a place off the earth.
    """
    require_between("latitude_deg", latitude_deg, -90.0, 90.0)
    require_between("longitude_deg", longitude_deg, -180.0, 360.0)
    require_between("elevation_m", elevation_m, -1000.0, 100000.0, "m")
    if not FIRST_DAY <= day <= LAST_DAY:
        raise OutsideValidity(model="magnetic", value=day, low=FIRST_DAY, high=LAST_DAY)
    first_year = day.year - day.year % 5
    year_days = (date(day.year + 1, 1, 1) - date(day.year, 1, 1)).days
    year = day.year + (day - date(day.year, 1, 1)).days / year_days
    east_deg = longitude_deg - 360.0 if longitude_deg > 180.0 else longitude_deg
    model = _model(first_year)
    result = model.calculate(glat=latitude_deg, glon=east_deg, alt=elevation_m / 1000.0, time=year)
    return Declination(
        declination_deg=float(result.d),
        uncertainty_deg=float(result.calculate_uncertainty().d),
        model=str(model.model),
        valid_from=date(first_year, 1, 1),
        valid_to=date(first_year + 4, 12, 31),
        compass="useless" if result.in_blackout_zone else "poor" if result.in_caution_zone else "good",
    )


def true_bearing_deg(magnetic_bearing_deg: float, declination_deg: float) -> float:
    """True bearing (0-360, clockwise) of a bearing read from a compass. Raises BadValue beyond 0-360."""
    return (required_bearing_deg(magnetic_bearing_deg) + declination_deg) % 360.0


def magnetic_bearing_deg(true_bearing: float, declination_deg: float) -> float:
    """What a compass shows (0-360) along a true bearing. Raises BadValue beyond 0-360."""
    return (required_bearing_deg(true_bearing) - declination_deg) % 360.0
