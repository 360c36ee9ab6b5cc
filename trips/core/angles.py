"""Angles on the horizon: degrees from true north, clockwise, and differences that know 359 and 1 are neighbours."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from participants.core.errors import BadValue

Numbers = NDArray[np.float64]


def wrapped_deg(angle_deg: ArrayLike) -> Numbers:
    """The same direction between 0 and 360 deg (360 excluded)."""
    wrapped = np.mod(np.asarray(angle_deg, dtype=np.float64), 360.0)
    return np.where(wrapped >= 360.0, 0.0, wrapped)


def signed_difference_deg(angle_deg: ArrayLike, from_deg: ArrayLike) -> Numbers:
    """How far `angle_deg` lies clockwise of `from_deg`: above -180 up to 180 deg, negative anticlockwise."""
    turned = np.asarray(angle_deg, dtype=np.float64) - np.asarray(from_deg, dtype=np.float64)
    return -(np.mod(-turned + 180.0, 360.0) - 180.0)


def difference_deg(angle_deg: ArrayLike, other_deg: ArrayLike) -> Numbers:
    """The angle between two directions on the horizon, 0 to 180 deg."""
    return np.abs(signed_difference_deg(angle_deg, other_deg))


def separation_deg(
    azimuth_deg: float, altitude_deg: float, other_azimuth_deg: float, other_altitude_deg: float
) -> float:
    """Angle in space between two directions, 0 to 180 deg (Vincenty's formula on the sphere, exact at any size)."""
    turned = np.radians(azimuth_deg - other_azimuth_deg)
    high, other = np.radians(altitude_deg), np.radians(other_altitude_deg)
    across = np.hypot(
        np.cos(high) * np.sin(turned),
        np.cos(other) * np.sin(high) - np.sin(other) * np.cos(high) * np.cos(turned),
    )
    along = np.sin(other) * np.sin(high) + np.cos(other) * np.cos(high) * np.cos(turned)
    return float(np.degrees(np.arctan2(across, along)))


def require_between(field: str, value: float, low: float, high: float, unit: str = "deg") -> float:
    """`value`, when it is a finite number from `low` to `high`.

    Raises BadValue(field, value, low, high, unit) otherwise.
    """
    number = float(value)
    if not low <= number <= high:
        raise BadValue(field=field, value=value, low=low, high=high, unit=unit)
    return number


def required_bearing_deg(value: float) -> float:
    """A typed bearing, 0 to 360 deg; 360 is north and is returned as 0. Raises BadValue beyond that."""
    return require_between("bearing_deg", value, 0.0, 360.0) % 360.0
