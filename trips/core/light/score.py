"""How good the light of a moment is, 0 to 1, by what the person wishes for."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from participants.core.errors import BadValue
from trips.core import daylight
from trips.core.angles import signed_difference_deg
from trips.core.sun import SUNRISE_DEG, SunTrack
from trips.core.values import LIGHT_WISHES, Hide, LightSettings, View

Numbers = NDArray[np.float64]
_WISH_ANGLES_DEG = (0.0, 45.0, 90.0, 180.0)  # where the rules give a factor; in between linear


@dataclass(frozen=True, slots=True, eq=False)
class SkyLight:
    """Light of sun and sky at each moment under one sky, lux; the same for every view of a place."""

    sky: str
    sun_lx: Numbers
    sky_lx: Numbers


@dataclass(frozen=True, slots=True, eq=False)
class ViewSun:
    """The sun for one view of a hide; `unlit`: it is up but does not reach the perch."""

    sun: SunTrack
    hide: Hide
    view: View
    unlit: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Scored:
    """Scores (0-1) of moments and the expected EV at ISO 100 of the subject (nan: lamps at night, not known)."""

    scores: Numbers
    ev100: Numbers


def height_factor(geometric_deg: ArrayLike, settings: LightSettings) -> Numbers:
    """H: how good the sun's height is, linear through the settings' points, flat beyond them."""
    points = np.array(settings.height_scoring, dtype=np.float64)
    return np.interp(np.asarray(geometric_deg, dtype=np.float64), points[:, 0], points[:, 1])


def direction_factor(off_deg: ArrayLike, wish: str, settings: LightSettings) -> Numbers:
    """D: how well the light's direction suits the wish; `off_deg` in space, 0 sun behind the seat, 180 ahead."""
    if wish not in LIGHT_WISHES:
        raise BadValue(field="light_wish", value=wish, low=None, high=None, unit="")
    if wish == "any":
        return np.ones_like(np.asarray(off_deg, dtype=np.float64))
    factors = {"front": settings.wish_front, "side": settings.wish_side, "back": settings.wish_back}[wish]
    return np.interp(np.asarray(off_deg, dtype=np.float64), _WISH_ANGLES_DEG, factors)


def exposure_factor(ev100: ArrayLike, settings: LightSettings) -> Numbers:
    """g: 0 at the settings' low EV and below, 1 from `ev_span` above it."""
    return np.clip((np.asarray(ev100, dtype=np.float64) - settings.ev_low) / settings.ev_span, 0.0, 1.0)


def cos_off_seat(sun: SunTrack, bearing_deg: float) -> Numbers:
    """Cosine of the angle in space between the sun and the direction subject to seat (level axis)."""
    turned = np.radians(signed_difference_deg(sun.azimuth_deg, bearing_deg))
    return -np.cos(np.radians(sun.geometric_deg)) * np.cos(turned)


def sky_light(sun: SunTrack, sky: str) -> SkyLight:
    """Light of sun and sky at each moment of a track under one sky ("clear", "partly", "overcast")."""
    day_of_year = np.mod(sun.stamps / 86400.0, 365.2425) + 1.0
    return SkyLight(sky, *daylight.light_parts_lx(sun.geometric_deg, sky, day_of_year))


def scored(seen: ViewSun, lights: tuple[SkyLight, ...], wish: str, settings: LightSettings) -> Scored:
    """Score and EV of each moment for one view.

    `lights`: the sky's own light first; under "partly" the overcast one second. With b the angle in space between the
    sun and the direction subject to seat: H(h) D(b, wish) g(EV); sun below -0.833 deg H g; behind the horizon line or
    in the hide's shadow 0.3 g with the EV of open shade; overcast 0.4 g; partly half the lit score and half the
    overcast one; a lamp-lit hide at night (H = 0) the lamps' score. EV less the glass, plus the learnt offset.
    """
    sun, unlit = seen.sun, seen.unlit
    offset = seen.view.light_offset_stops - seen.view.glass_loss_stops
    cos_off = cos_off_seat(sun, seen.view.bearing_deg)
    main = lights[0]
    high = height_factor(sun.geometric_deg, settings)
    ev = daylight.ev_lit(main.sun_lx, main.sky_lx, sun.geometric_deg, cos_off) + offset
    if main.sky == "overcast":
        scores = settings.overcast_factor * exposure_factor(ev, settings)
    else:
        shade_ev = daylight.ev_shade(main.sun_lx, main.sky_lx, sun.geometric_deg) + offset
        ev = np.where(unlit, shade_ev, ev)
        toward = direction_factor(np.degrees(np.arccos(np.clip(cos_off, -1.0, 1.0))), wish, settings)
        up = sun.geometric_deg >= SUNRISE_DEG
        scores = np.where(unlit, settings.shade_factor, high * np.where(up, toward, 1.0)) * exposure_factor(
            ev, settings
        )
    if main.sky == "partly":
        grey = lights[1]
        grey_ev = daylight.ev_lit(grey.sun_lx, grey.sky_lx, sun.geometric_deg, cos_off) + offset
        scores = (scores + settings.overcast_factor * exposure_factor(grey_ev, settings)) / 2.0
    if seen.hide.lamp_lit:
        night = high <= 0.0
        scores, ev = np.where(night, settings.lamp_score, scores), np.where(night, np.nan, ev)
    return Scored(scores, ev)


def lights_of(sun: SunTrack, sky: str) -> tuple[SkyLight, ...]:
    """The skies that scoring needs: the sky itself, and the overcast one beside a partly cloudy one."""
    if sky == "partly":
        return sky_light(sun, sky), sky_light(sun, "overcast")
    return (sky_light(sun, sky),)


class SessionMeans:
    """Session scores and good minutes of many sessions whose samples stand one after the other in one array."""

    def __init__(self, sizes: list[int], settings: LightSettings) -> None:
        self._settings = settings
        ends = np.cumsum(sizes, dtype=np.int64)
        starts = ends - np.array(sizes, dtype=np.int64)
        self._bounds = list(zip(starts.tolist(), ends.tolist(), strict=True))
        lengths = np.minimum(settings.best_samples, sizes)
        firsts = [
            np.arange(start, end - length + 1) for (start, end), length in zip(self._bounds, lengths, strict=True)
        ]
        self._first = np.concatenate(firsts)
        self._length = np.repeat(lengths, [first.size for first in firsts])
        self._heads = np.cumsum([0, *(first.size for first in firsts[:-1])])

    def scores(self, samples: Numbers) -> list[float]:
        """For each session the greatest mean of `best_samples` consecutive samples; of all when there are fewer."""
        sums = np.concatenate(([0.0], np.cumsum(samples)))
        means = (sums[self._first + self._length] - sums[self._first]) / self._length
        best = np.clip(np.maximum.reduceat(means, self._heads), 0.0, 1.0)  # differences of sums round past the ends
        return [float(mean) for mean in best]

    def good_minutes(self, samples: Numbers) -> list[float]:
        """For each session the minutes of samples that reach the good score; they need not be together."""
        counted = np.concatenate(([0], np.cumsum(samples >= self._settings.good_score - 1e-9)))
        return [float(counted[end] - counted[start]) * self._settings.step_min for start, end in self._bounds]
