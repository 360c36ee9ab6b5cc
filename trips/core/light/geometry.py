"""What the sun does for one view: light angle, class, own shadow, horizon and frame; arrays in, arrays out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trips.core.angles import difference_deg, signed_difference_deg
from trips.core.horizons import height_at_deg
from trips.core.sun import SUNRISE_DEG, SunTrack
from trips.core.values import Hide, LightSettings, View

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]

NONE, FRONT, SIDE, BACK, TOP = range(5)
CLASS_NAMES = ("none", "front", "side", "back", "top")
SUN_HALF_DISC_DEG = 0.267  # mean half width of the sun; it varies by 0.005 over the year

# A view's state at a moment in one number: its class, and a bit for each of these.
PERCH_SHADED, WATER_SHADED, IN_FRAME, BEHIND_HORIZON, LIT = 8, 16, 32, 64, 128


@dataclass(frozen=True, slots=True)
class Framing:
    """What a lens sees: focal length and frame in millimetres; `aim_deg`: how far the axis points above level."""

    focal_mm: float = 600.0
    frame_width_mm: float = 36.0
    frame_height_mm: float = 24.0
    aim_deg: float = 0.0

    @property
    def width_deg(self) -> float:
        """Angle of view across the frame's width."""
        return float(np.degrees(2.0 * np.arctan(self.frame_width_mm / (2.0 * self.focal_mm))))

    @property
    def height_deg(self) -> float:
        """Angle of view across the frame's height."""
        return float(np.degrees(2.0 * np.arctan(self.frame_height_mm / (2.0 * self.focal_mm))))


def light_angle_deg(sun_azimuth_deg: ArrayLike, bearing_deg: float) -> Numbers:
    """How far the sun is, on the horizon, from straight behind the seat: 0 behind, 180 ahead."""
    return difference_deg(sun_azimuth_deg, bearing_deg + 180.0)


def sun_is_up(sun: SunTrack) -> Flags:
    """Whether the sun is up on a level horizon (centre at or above -0.833 deg, geometric)."""
    return sun.geometric_deg >= SUNRISE_DEG


def behind_horizon(sun: SunTrack, view: View) -> Flags:
    """Whether the sun is up but behind the view's horizon line (apparent height below it)."""
    if not view.horizon:
        return np.zeros(sun.stamps.shape, dtype=bool)
    return sun_is_up(sun) & (sun.apparent_deg < height_at_deg(view.horizon, sun.azimuth_deg))


def in_own_shadow(sun: SunTrack, off_deg: Numbers, hide: Hide, distance_m: float, height_m: float) -> Flags:
    """Whether the hide's shadow falls on a spot `distance_m` out along the axis, `height_m` above the ground.

    `off_deg`: the light angle a. Shaded when a < atan(width / 2d) and tan(height of the sun) < (roof - spot) cos a / d,
    with the apparent height. The hide's depth has no effect. A hide without a measured roof casts none.
    """
    shaded = np.zeros(sun.stamps.shape, dtype=bool)
    if hide.roof_height_m is None or distance_m <= 0.0 or hide.roof_height_m <= height_m:
        return shaded
    beside_deg = np.degrees(np.arctan(hide.width_m / (2.0 * distance_m)))
    near = np.flatnonzero((off_deg < beside_deg) & sun_is_up(sun))
    reach = (hide.roof_height_m - height_m) * np.cos(np.radians(off_deg[near])) / distance_m
    shaded[near] = np.tan(np.radians(sun.apparent_deg[near])) < reach
    return shaded


def frame_offsets_deg(
    sun_azimuth_deg: ArrayLike, sun_altitude_deg: ArrayLike, bearing_deg: float, aim_deg: float = 0.0
) -> tuple[Numbers, Numbers]:
    """The sun's place against the lens axis, deg right (+) and deg up (+), seen in the frame's plane."""
    turned = np.radians(signed_difference_deg(sun_azimuth_deg, bearing_deg))
    high, aim = np.radians(np.asarray(sun_altitude_deg, dtype=np.float64)), np.radians(aim_deg)
    ahead, right, up = np.cos(high) * np.cos(turned), np.cos(high) * np.sin(turned), np.sin(high)
    along = ahead * np.cos(aim) + up * np.sin(aim)
    above = up * np.cos(aim) - ahead * np.sin(aim)
    return np.degrees(np.arctan2(right, along)), np.degrees(np.arctan2(above, along))


def sun_in_frame(sun: SunTrack, off_deg: Numbers, bearing_deg: float, framing: Framing) -> Flags:
    """Whether any of the sun's disc stands inside the frame, for an axis level or raised by `framing.aim_deg`.

    `off_deg`: the light angle; only a sun in the half of the sky ahead can be in the frame.
    """
    inside = np.zeros(sun.stamps.shape, dtype=bool)
    half_deg = framing.width_deg / 2.0 + SUN_HALF_DISC_DEG
    reach_deg = half_deg if framing.aim_deg == 0.0 else 90.0
    ahead = np.flatnonzero((off_deg >= 180.0 - reach_deg) & sun_is_up(sun))
    right_deg, up_deg = frame_offsets_deg(sun.azimuth_deg[ahead], sun.apparent_deg[ahead], bearing_deg, framing.aim_deg)
    inside[ahead] = (np.abs(right_deg) <= half_deg) & (np.abs(up_deg) <= framing.height_deg / 2.0 + SUN_HALF_DISC_DEG)
    return inside


def perch_distance_m(view: View) -> float:
    """Where the light on the perch is judged: the middle between its near and far end."""
    return (view.near_m + view.far_m) / 2.0


def unlit(sun: SunTrack, hide: Hide, view: View) -> Flags:
    """Whether the sun is up but does not reach the perch: behind the horizon line, or the hide's shadow is on it."""
    off_deg = light_angle_deg(sun.azimuth_deg, view.bearing_deg)
    shaded = in_own_shadow(sun, off_deg, hide, perch_distance_m(view), view.perch_height_m)
    return shaded | behind_horizon(sun, view)


def classes(sun: SunTrack, view: View, settings: LightSettings) -> NDArray[np.int64]:
    """The class of each moment as a number (NONE, FRONT, SIDE, BACK, TOP)."""
    off_deg = light_angle_deg(sun.azimuth_deg, view.bearing_deg)
    return _classes(sun, off_deg, behind_horizon(sun, view), settings)


def _classes(sun: SunTrack, off_deg: Numbers, hidden: Flags, settings: LightSettings) -> NDArray[np.int64]:
    found = np.full(sun.stamps.shape, BACK, dtype=np.int64)
    found[off_deg <= settings.side_deg] = SIDE
    found[off_deg <= settings.front_deg] = FRONT
    found[sun.apparent_deg > settings.top_deg] = TOP
    found[~sun_is_up(sun) | hidden] = NONE
    return found


def states(sun: SunTrack, hide: Hide, view: View, settings: LightSettings, framing: Framing) -> NDArray[np.int64]:
    """Class and flags of each moment in one number (see the bits above)."""
    off_deg = light_angle_deg(sun.azimuth_deg, view.bearing_deg)
    hidden = behind_horizon(sun, view)
    found = _classes(sun, off_deg, hidden, settings)
    perch = in_own_shadow(sun, off_deg, hide, perch_distance_m(view), view.perch_height_m)
    lit = (found != NONE) & ~perch
    found[hidden] |= BEHIND_HORIZON
    found[lit] |= LIT
    found[perch & ~hidden] |= PERCH_SHADED
    found[sun_in_frame(sun, off_deg, view.bearing_deg, framing) & ~hidden] |= IN_FRAME
    if view.water_edge_m is not None:
        found[in_own_shadow(sun, off_deg, hide, view.water_edge_m, 0.0) & ~hidden] |= WATER_SHADED
    return found
