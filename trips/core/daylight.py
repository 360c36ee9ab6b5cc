"""How much light falls on a subject, from high sun to deep twilight, and what exposure it asks for."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from participants.core.errors import BadValue
from trips.core.angles import require_between
from trips.core.sun import SUNRISE_DEG
from trips.core.values import SKIES

Numbers = NDArray[np.float64]

METER_CONSTANT = 340.0  # C of ISO 2720 for a receptor under a dome, lux seconds
_GROUND = 0.2  # share that ordinary ground throws back, common practice, no source
_SHADE_SKY, _SHADE_BEAM = 0.6, 0.3  # what open shade sees of the sky, and of the lit ground around it


def relative_air_mass(altitude_deg: ArrayLike) -> Numbers:
    """Optical air mass relative to the zenith, 1 at 90 deg to 37.9 at 0; below 0 deg the value at 0.

    Kasten & Young (1989), eq. 3; within 0.5 % above the horizon.
    """
    high = np.clip(np.asarray(altitude_deg, dtype=np.float64), 0.0, 90.0)
    return 1.0 / (np.sin(np.radians(high)) + 0.50572 * (high + 6.07995) ** -1.6364)


def clear_parts_lx(altitude_deg: ArrayLike) -> tuple[Numbers, Numbers]:
    """Clear sky: (light of the sun on a surface that faces it, light of the sky on level ground), lux.

    `altitude_deg`: geometric height of the sun. Janiczek & DeYoung, USNO Circular 171 (1987): the two terms of their
    illuminance, the first divided by sin h. Meant for -18 to 90 deg; starlight and airglow are left out.
    """
    altitude = np.asarray(altitude_deg, dtype=np.float64)
    sine, cosine = np.sin(np.radians(altitude)), np.cos(np.radians(altitude))
    air = 753.66
    cos_s = np.sqrt(1.0 - (air * cosine / (air + 1.0)) ** 2)
    path = air * (cos_s - sine) + cos_s
    sun_lx = 133775.0 * np.exp(-0.21 * path)
    sky_lx = 133775.0 * 0.0289 * np.exp(-0.042 * path) * (1.0 + (altitude + 90.0) * sine / 57.296)
    return sun_lx, np.maximum(sky_lx, 0.0)


def level_illuminance_lx(altitude_deg: ArrayLike) -> Numbers:
    """Clear-sky light on level ground, lux (Janiczek & DeYoung 1987), at a geometric height of the sun."""
    sun_lx, sky_lx = clear_parts_lx(altitude_deg)
    return sun_lx * np.sin(np.radians(altitude_deg)) + sky_lx


def light_parts_lx(altitude_deg: ArrayLike, sky: str, day_of_year: ArrayLike) -> tuple[Numbers, Numbers]:
    """(light of the sun facing it, light of the sky on level ground), lux, under "clear", "partly" or "overcast".

    Geometric height; `day_of_year` 1-366 (the earth's distance). No direct light with the sun below -0.833 deg.
    Clouded skies: the IES Lighting Handbook's sky and extinction, from memory; in twilight they fade as a clear one.
    """
    if sky not in SKIES:
        raise BadValue(field="sky", value=sky, low=None, high=None, unit="")
    altitude = np.asarray(altitude_deg, dtype=np.float64)
    clear_sun, clear_sky = clear_parts_lx(altitude)
    up = altitude >= SUNRISE_DEG
    if sky == "clear":
        return np.where(up, clear_sun, 0.0), clear_sky
    sine = np.sin(np.radians(np.maximum(altitude, 0.0)))
    fading = np.where(altitude < 0.0, np.minimum(level_illuminance_lx(altitude) / level_illuminance_lx(0.0), 1.0), 1.0)
    sky_lx = (300.0 + (45000.0 if sky == "partly" else 21000.0) * sine) * fading
    if sky == "overcast":
        return np.zeros_like(altitude), sky_lx
    distance = 1.0 + 0.034 * np.cos(2.0 * np.pi * (np.asarray(day_of_year, dtype=np.float64) - 2.0) / 365.0)
    sun_lx = 127500.0 * distance * np.exp(-0.80 * relative_air_mass(altitude)) * fading
    return np.where(up, sun_lx, 0.0), sky_lx


def ev_lit(sun_lx: Numbers, sky_lx: Numbers, altitude_deg: Numbers, cos_off: Numbers) -> Numbers:
    """EV at ISO 100 of a subject that faces the seat, in the sun; `cos_off`: cosine of the angle in space between
    the sun and the direction subject to seat (1 sun straight behind the seat). Reflected-dome form, ISO 2720."""
    sine = np.maximum(np.sin(np.radians(altitude_deg)), 0.0)
    subject_lx = sun_lx * (1.0 + cos_off) / 2.0 + sky_lx + _GROUND * (sun_lx * sine + sky_lx)
    return _ev_from_lx(subject_lx)


def ev_shade(sun_lx: Numbers, sky_lx: Numbers, altitude_deg: Numbers) -> Numbers:
    """EV at ISO 100 of a subject in open shade (the sun is up, but not on it)."""
    sine = np.maximum(np.sin(np.radians(altitude_deg)), 0.0)
    subject_lx = _SHADE_SKY * sky_lx + _GROUND * (_SHADE_BEAM * sun_lx * sine + _SHADE_SKY * sky_lx)
    return _ev_from_lx(subject_lx)


def _ev_from_lx(subject_lx: Numbers) -> Numbers:
    return np.log2(np.maximum(subject_lx, 1e-9) * 100.0 / METER_CONSTANT)


def ev100(
    altitude_deg: float, angle_off_deg: float, sky: str = "clear", *, shade: bool = False, day_of_year: int = 172
) -> float:
    """Expected EV at ISO 100 of a subject facing the seat; right to about one stop each way.

    `altitude_deg`: geometric height of the sun, -18 to 90; `angle_off_deg`: light angle on the horizon, 0 (sun
    straight behind the seat) to 180; `shade`: in open shade. Raises BadValue for another sky.
    """
    require_between("altitude_deg", altitude_deg, -90.0, 90.0)
    sun_lx, sky_lx = light_parts_lx(altitude_deg, sky, day_of_year)
    high = np.asarray(altitude_deg, dtype=np.float64)
    if shade:
        return float(ev_shade(sun_lx, sky_lx, high))
    cos_off = np.cos(np.radians(high)) * np.cos(np.radians(angle_off_deg))
    return float(ev_lit(sun_lx, sky_lx, high, cos_off))
