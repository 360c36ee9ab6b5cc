"""The light of hides over sessions: classes with change times, scores, lit intervals and cautions.

Everything of one place is computed in one array run, however many sessions and views share it.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trips.core.light import geometry
from trips.core.light.geometry import Framing
from trips.core.light.results import SessionLight, ViewLight
from trips.core.light.runs import SessionsSun
from trips.core.values import Hide, LightSettings, Session, View

Numbers = NDArray[np.float64]


def session_light(
    hide: Hide,
    session: Session,
    wish: str = "front",
    settings: LightSettings | None = None,
    framing: Framing | None = None,
) -> SessionLight:
    """The light of one hide in one session for a wish ("front", "side", "back", "any").

    Raises BadValue (wish, sky, place) and OutsideValidity (years). Change times are right to a second; what lasts
    less than a minute may be missed.
    """
    return trip_light([hide], [session], wish, settings, framing)[hide.key, session.key]


def trip_light(
    hides: Sequence[Hide],
    sessions: Sequence[Session],
    wish: str = "front",
    settings: LightSettings | None = None,
    framing: Framing | None = None,
) -> dict[tuple[str, str], SessionLight]:
    """The light of every hide in every session, by (hide key, session key); the sun is computed once per place."""
    settings = settings or LightSettings()
    framing = framing or Framing(focal_mm=settings.frame_focal_mm)
    suns: dict[tuple[float, float], SessionsSun] = {}
    found: dict[tuple[str, str], SessionLight] = {}
    if not sessions:
        return found
    for hide in hides:
        place = (hide.point.latitude_deg, hide.point.longitude_deg)
        sun = suns.get(place) or suns.setdefault(place, SessionsSun(hide.point, sessions, settings))
        for light in _hide_lights(hide, sun, wish, framing):
            found[hide.key, light.session.key] = light
    return found


def moment_scores(hide: Hide, session: Session, wish: str, settings: LightSettings | None = None) -> Numbers:
    """Scores of a session's samples, one row per view of the hide: array of views x samples, 0-1."""
    return trip_scores([hide], [session], (wish,), settings)[hide.key, session.key, wish]


def trip_scores(
    hides: Sequence[Hide], sessions: Sequence[Session], wishes: Sequence[str], settings: LightSettings | None = None
) -> dict[tuple[str, str, str], Numbers]:
    """`moment_scores` of every hide, session and wish at once, by (hide key, session key, wish)."""
    settings = settings or LightSettings()
    suns: dict[tuple[float, float], SessionsSun] = {}
    found: dict[tuple[str, str, str], Numbers] = {}
    if not sessions:
        return found
    for hide in hides:
        place = (hide.point.latitude_deg, hide.point.longitude_deg)
        sun = suns.get(place) or suns.setdefault(place, SessionsSun(hide.point, sessions, settings))
        for wish in wishes:
            rows = [sun.scored(sun.view_sun(hide, view), wish).scores for view in hide.views]
            table = np.array(rows).reshape(len(hide.views), sun.sampled.stamps.size)
            for session, part in zip(sessions, sun.parts, strict=True):
                found[hide.key, session.key, wish] = table[:, part]
    return found


def _hide_lights(hide: Hide, sun: SessionsSun, wish: str, framing: Framing) -> list[SessionLight]:
    """One hide over all sessions: its views, and the best of them at each moment."""
    by_view = [_view_lights(hide, view, sun, wish, framing) for view in hide.views]
    table = np.array([scores for _, scores in by_view]) if by_view else np.zeros((1, sun.sampled.stamps.size))
    best, scores = np.argmax(table, axis=0), np.max(table, axis=0)
    totals, minutes = sun.means.scores(scores), sun.means.good_minutes(scores)
    return [
        SessionLight(
            hide,
            session,
            wish,
            tuple(lights[number] for lights, _ in by_view),
            scores[part],
            best[part],
            totals[number],
            minutes[number],
        )
        for number, (session, part) in enumerate(zip(sun.sessions, sun.parts, strict=True))
    ]


def _view_lights(
    hide: Hide, view: View, sun: SessionsSun, wish: str, framing: Framing
) -> tuple[list[ViewLight], Numbers]:
    """One view over all sessions, and its scores over all samples."""
    seen = sun.view_sun(hide, view)
    found = sun.scored(seen, wish)
    codes = geometry.classes(sun.sampled, view, sun.settings)
    runs = sun.runs(hide, view, framing)
    totals, minutes = sun.means.scores(found.scores), sun.means.good_minutes(found.scores)
    lights = [
        ViewLight(
            hide,
            view,
            session,
            sun.own[number],
            found.scores[part],
            found.ev100[part],
            codes[part],
            runs[number],
            totals[number],
            minutes[number],
            sun.own_fine[number],
        )
        for number, (session, part) in enumerate(zip(sun.sessions, sun.parts, strict=True))
    ]
    return lights, found.scores
