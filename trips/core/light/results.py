"""What the doors of light hand out: intervals, samples, cautions, and the light of views and hides."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trips.core.angles import difference_deg
from trips.core.light import geometry
from trips.core.light.geometry import CLASS_NAMES
from trips.core.light.score import ViewSun, lights_of, scored
from trips.core.sun import SunTrack, track
from trips.core.values import Hide, LightSettings, Session, View

Numbers = NDArray[np.float64]
Runs = tuple[tuple[float, float, int], ...]  # (start, end, state), seconds since 1970

_SCENT_DEG = 45.0  # of the wind off the line from seat to subject; common practice, no source
_CAUTION_BITS = (
    ("sun_in_frame", geometry.IN_FRAME),
    ("shadow_on_perch", geometry.PERCH_SHADED),
    ("shadow_on_water", geometry.WATER_SHADED),
    ("behind_horizon", geometry.BEHIND_HORIZON),
)


@dataclass(frozen=True, slots=True)
class Interval:
    """A stretch of a session that has one name: a class of light, "soft", "shade", a view's key, or "lit"."""

    name: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to tell about a session's light.

    `kind`: sun_in_frame, shadow_on_perch, shadow_on_water, behind_horizon, class_changes (from `before` to `after` at
    `starts_at`), scent. `clears`: whether it ends within the session while the sun is up.
    """

    kind: str
    view: str
    starts_at: datetime
    ends_at: datetime
    clears: bool
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class Sample:
    """One five-minute sample: score 0-1, class, expected EV at ISO 100 (None: not known), sun in degrees."""

    moment: datetime
    score: float
    light_class: str
    ev100: float | None
    azimuth_deg: float
    altitude_deg: float


@dataclass(frozen=True, slots=True)
class Glance:
    """The light on the perch at a moment: its name as in `ViewLight.on_perch`, and the EV at ISO 100 (None unknown)."""

    at: datetime
    light: str
    ev100: float | None


@dataclass(frozen=True, slots=True, eq=False)
class ViewLight:
    """What the sun does for one view during one session. Arrays run over the session's samples.

    `fine`: the sun at every minute from the start, and at the end.
    """

    hide: Hide
    view: View
    session: Session
    sun: SunTrack
    scores: Numbers
    ev100: Numbers
    classes: NDArray[np.int64]
    runs: Runs
    score: float
    good_minutes: float
    fine: SunTrack

    def _local(self, stamp: float) -> datetime:
        return datetime.fromtimestamp(stamp, self.session.starts_at.tzinfo)

    @property
    def intervals(self) -> tuple[Interval, ...]:
        """Where the sun stands, by class and in order; together they are the session. Blind to clouds and shadows."""
        return self._joined([(start, end, CLASS_NAMES[state & 7]) for start, end, state in self.runs])

    @property
    def on_perch(self) -> tuple[Interval, ...]:
        """The light that falls on the perch, in order; together the stretches are the session.

        front, side, back, top: in the sun; shade: the sun is up but behind the horizon line, or the hide's shadow lies
        there; soft: under an overcast sky, from no direction; none: the sun is down.
        """
        return self._joined([(start, end, self._named(state)) for start, end, state in self.runs])

    def _named(self, state: int) -> str:
        if state & 7 == geometry.NONE and not state & geometry.BEHIND_HORIZON:
            return "none"
        if self.session.sky == "overcast":
            return "soft"
        return CLASS_NAMES[state & 7] if state & geometry.LIT else "shade"

    @property
    def by_minute(self) -> tuple[Glance, ...]:
        """The light on the perch in every minute from the session's start, and at its end.

        Each minute as it is in its middle, so that what changes does so at the minute as which the change is printed.
        """
        last, point = self.fine.stamps[-1], self.hide.point
        sun = track(point.latitude_deg, point.longitude_deg, np.minimum(self.fine.stamps + 30.0, last))
        view_sun = ViewSun(sun, self.hide, self.view, geometry.unlit(sun, self.hide, self.view))
        evs = scored(view_sun, lights_of(sun, self.session.sky), "any", LightSettings()).ev100
        parts = self.on_perch
        names = [part.name for part in parts]
        ends = [part.ends_at.timestamp() for part in parts[:-1]]
        return tuple(
            Glance(self._local(stamp), names[bisect_right(ends, seen)], None if np.isnan(ev) else ev)
            for stamp, seen, ev in zip(self.fine.stamps.tolist(), sun.stamps.tolist(), evs.tolist(), strict=True)
        )

    @property
    def lit(self) -> tuple[Interval, ...]:
        """When the sun reaches the perch: up, above the horizon line, not in the hide's own shadow, not overcast."""
        sunny = self.session.sky != "overcast"
        marked = [(start, end, "lit" if sunny and state & geometry.LIT else "") for start, end, state in self.runs]
        return tuple(interval for interval in self._joined(marked) if interval.name)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """All there is to warn of in this view, by kind and time."""
        return _cautions(self)

    @property
    def samples(self) -> tuple[Sample, ...]:
        """The samples one by one, for pages and papers."""
        return tuple(
            Sample(
                self._local(float(stamp)),
                float(score),
                CLASS_NAMES[int(code)],
                None if np.isnan(ev) else float(ev),
                float(azimuth),
                float(altitude),
            )
            for stamp, score, code, ev, azimuth, altitude in zip(
                self.sun.stamps,
                self.scores,
                self.classes,
                self.ev100,
                self.sun.azimuth_deg,
                self.sun.apparent_deg,
                strict=True,
            )
        )

    def _joined(self, parts: list[tuple[float, float, str]]) -> tuple[Interval, ...]:
        return tuple(
            Interval(name, self._local(start), self._local(end)) for start, end, name in _neighbours_joined(parts)
        )


@dataclass(frozen=True, slots=True, eq=False)
class SessionLight:
    """The light of one hide in one session: every view, and at each moment the best of them."""

    hide: Hide
    session: Session
    wish: str
    views: tuple[ViewLight, ...]
    scores: Numbers
    best: NDArray[np.int64]
    score: float
    good_minutes: float

    @property
    def best_view(self) -> ViewLight:
        """The view with the greatest session score (the first of equals)."""
        return max(self.views, key=lambda light: light.score)

    @property
    def best_intervals(self) -> tuple[Interval, ...]:
        """Which view to use when: names are the views' keys; together they are the session."""
        ends = [*self.views[0].sun.stamps[1:].tolist(), self.session.ends_at.timestamp()]
        parts = [
            (float(start), float(end), self.views[int(number)].view.key)
            for start, end, number in zip(self.views[0].sun.stamps, ends, self.best, strict=True)
        ]
        return self.views[0]._joined(parts)

    @property
    def best_samples(self) -> tuple[Sample, ...]:
        """At each moment the sample of the best view."""
        by_view = [light.samples for light in self.views]
        return tuple(by_view[int(number)][place] for place, number in enumerate(self.best))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions of all views."""
        return tuple(caution for light in self.views for caution in light.cautions)


def _neighbours_joined(parts: list[tuple[float, float, str]]) -> list[tuple[float, float, str]]:
    joined: list[tuple[float, float, str]] = []
    for start, end, name in parts:
        if joined and joined[-1][2] == name:
            joined[-1] = (joined[-1][0], end, name)
        else:
            joined.append((start, end, name))
    return joined


def counted_stretch(light: SessionLight, settings: LightSettings) -> Interval:
    """The best hour and a half of a hide's session, which its score is the mean of: the first of equals.

    It bears the name of the light that is longest on the perch in it, in the view that is best for longest.
    """
    length = min(settings.best_samples, light.scores.size)
    means = np.convolve(light.scores, np.full(length, 1.0 / length), "valid")
    first = int(np.argmax(means.round(9)))
    counted = np.bincount(light.best[first : first + length])
    view = light.views[int(np.argmax(counted))]
    stamps = view.sun.stamps
    starts_at = view._local(float(stamps[first]))
    ends_at = min(view._local(float(stamps[first + length - 1]) + settings.step_min * 60.0), light.session.ends_at)

    def seconds_within(one: Interval) -> float:
        return (min(one.ends_at, ends_at) - max(one.starts_at, starts_at)).total_seconds()

    return Interval(max(view.on_perch, key=seconds_within).name, starts_at, ends_at)


def _cautions(light: ViewLight) -> tuple[Caution, ...]:
    """Under an overcast sky the sun throws no shadow and stands in no frame: only the scent is left."""
    found: list[Caution] = []
    overcast = light.session.sky == "overcast"
    lit_from = {start for start, _, state in light.runs if state & 7}
    for kind, bit in () if overcast else _CAUTION_BITS:
        marked = [(start, end, kind if state & bit else "") for start, end, state in light.runs]
        found += [
            Caution(kind, light.view.key, light._local(start), light._local(end), end in lit_from)
            for start, end, name in _neighbours_joined(marked)
            if name
        ]
    for before, after in pairwise(() if overcast else light.on_perch):
        found.append(
            Caution("class_changes", light.view.key, after.starts_at, after.ends_at, False, before.name, after.name)
        )
    wind = light.session.wind_from_deg
    if light.hide.scent_matters and wind is not None:
        behind = float(difference_deg(wind, light.view.bearing_deg + 180.0))
        if behind <= _SCENT_DEG:
            found.append(Caution("scent", light.view.key, light.session.starts_at, light.session.ends_at, False))
    return tuple(found)
