"""The sun of one place over many sessions in one run of arrays: samples, and stretches with their change times."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trips.core.light import geometry
from trips.core.light.geometry import Framing
from trips.core.light.results import Runs
from trips.core.light.score import Scored, SessionMeans, SkyLight, ViewSun, lights_of, scored
from trips.core.sun import SunTrack, track
from trips.core.values import Hide, LightSettings, Point, Session, View

Numbers = NDArray[np.float64]

_FINE_S = 60.0  # changes are told to the minute
_SPLIT = 16  # a fine step is split so often, twice: changes are found to a quarter of a second


def sample_stamps(session: Session, settings: LightSettings) -> Numbers:
    """Moments of the samples: start, start + step, ... before the end, in seconds since 1970."""
    starts, ends = session.starts_at.timestamp(), session.ends_at.timestamp()
    return np.arange(starts, ends - 1e-6, settings.step_min * 60.0)


class SessionsSun:
    """The sun of one place over all sessions; computed once and shared by all views there."""

    def __init__(self, point: Point, sessions: Sequence[Session], settings: LightSettings) -> None:
        self.settings, self.sessions = settings, tuple(sessions)
        stamps = [sample_stamps(session, settings) for session in sessions]
        self.parts = _slices(stamps)
        self.means = SessionMeans([array.size for array in stamps], settings)
        fine = [_fine_stamps(session) for session in sessions]
        self._fine_parts = _slices(fine)
        self._fine_stops = np.array([part.stop for part in self._fine_parts], dtype=np.int64)
        everything = track(point.latitude_deg, point.longitude_deg, np.concatenate(stamps + fine))
        count = sum(array.size for array in stamps)
        self.sampled = _piece(everything, slice(0, count))
        self.fine = _piece(everything, slice(count, None))
        self.own = [_piece(self.sampled, part) for part in self.parts]
        self.own_fine = [_piece(self.fine, part) for part in self._fine_parts]
        self._skies = [session.sky for session in sessions]
        self._lights: dict[str, tuple[SkyLight, ...]] = {sky: lights_of(self.sampled, sky) for sky in set(self._skies)}

    def view_sun(self, hide: Hide, view: View) -> ViewSun:
        """The samples as one view sees them."""
        return ViewSun(self.sampled, hide, view, geometry.unlit(self.sampled, hide, view))

    def scored(self, seen: ViewSun, wish: str) -> Scored:
        """Scores and EV of all samples of all sessions, each session under its own sky."""
        results = {sky: scored(seen, self._lights[sky], wish, self.settings) for sky in sorted(self._lights)}
        if len(results) == 1:
            return next(iter(results.values()))
        scores, ev = np.empty(self.sampled.stamps.size), np.empty(self.sampled.stamps.size)
        for sky, part in zip(self._skies, self.parts, strict=True):
            scores[part], ev[part] = results[sky].scores[part], results[sky].ev100[part]
        return Scored(scores, ev)

    def runs(self, hide: Hide, view: View, framing: Framing) -> list[Runs]:
        """For each session the stretches of one state, joined without gaps, with change times to the second."""
        codes = geometry.states(self.fine, hide, view, self.settings, framing)
        changed = codes[:-1] != codes[1:]
        changed[self._fine_stops[:-1] - 1] = False
        steps = np.flatnonzero(changed)
        numbers = np.searchsorted(self._fine_stops, steps, side="right")
        ends = self._ends_of(steps)
        for _ in range(2):
            inner = _split(ends)
            within = geometry.states(inner, hide, view, self.settings, framing).reshape(-1, _SPLIT + 1)
            rows, columns = np.nonzero(within[:, :-1] != within[:, 1:])
            numbers, after = numbers[rows], within[rows, columns + 1]
            at = rows * (_SPLIT + 1) + columns
            ends = (_taken(inner, at), _taken(inner, at + 1))
        moments = (ends[0].stamps + ends[1].stamps) / 2.0
        return self._by_session(codes, numbers, moments, after)

    def _ends_of(self, steps: NDArray[np.int64]) -> tuple[SunTrack, SunTrack]:
        return _taken(self.fine, steps), _taken(self.fine, steps + 1)

    def _by_session(
        self, codes: NDArray[np.int64], numbers: NDArray[np.int64], moments: Numbers, after: NDArray[np.int64]
    ) -> list[Runs]:
        starts = [[float(self.fine.stamps[part.start])] for part in self._fine_parts]
        names = [[int(codes[part.start])] for part in self._fine_parts]
        for number, moment, name in zip(numbers.tolist(), moments.tolist(), after.tolist(), strict=True):
            starts[number].append(moment)
            names[number].append(name)
        lasts = [float(self.fine.stamps[part.stop - 1]) for part in self._fine_parts]
        return [
            tuple(zip(own, [*own[1:], last], named, strict=True))
            for own, last, named in zip(starts, lasts, names, strict=True)
        ]


def _slices(arrays: Sequence[Numbers]) -> list[slice]:
    ends = np.cumsum([array.size for array in arrays]).tolist()
    return [slice(end - array.size, end) for end, array in zip(ends, arrays, strict=True)]


def _fine_stamps(session: Session) -> Numbers:
    starts, ends = session.starts_at.timestamp(), session.ends_at.timestamp()
    return np.append(np.arange(starts, ends - 1e-6, _FINE_S), ends)


def _piece(sun: SunTrack, part: slice) -> SunTrack:
    return SunTrack(sun.stamps[part], sun.azimuth_deg[part], sun.geometric_deg[part], sun.apparent_deg[part])


def _taken(sun: SunTrack, at: NDArray[np.int64]) -> SunTrack:
    return SunTrack(sun.stamps[at], sun.azimuth_deg[at], sun.geometric_deg[at], sun.apparent_deg[at])


def _split(ends: tuple[SunTrack, SunTrack]) -> SunTrack:
    """Moments between pairs at most a minute apart, on straight lines (the sun's path bends by 0.00001 deg)."""
    left, right = ends
    part = np.arange(_SPLIT + 1) / _SPLIT

    def between(first: Numbers, last: Numbers) -> Numbers:
        return (first[:, None] + (last - first)[:, None] * part).ravel()

    turned = (right.azimuth_deg - left.azimuth_deg + 180.0) % 360.0 - 180.0
    azimuth = between(left.azimuth_deg, left.azimuth_deg + turned) % 360.0
    geometric = between(left.geometric_deg, right.geometric_deg)
    apparent = between(left.apparent_deg, right.apparent_deg)
    return SunTrack(between(left.stamps, right.stamps), azimuth, geometric, apparent)
