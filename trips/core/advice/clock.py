"""The card by clock time: what dawn and dusk allow from when, and the settings at the moments that matter."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import groupby, pairwise

from trips.core.advice.lines import Frame
from trips.core.advice.values import Line, Row, ShutterStep
from trips.core.light import Glance

SHORTEST_ROW = timedelta(minutes=3)  # a row that would hold for less gives way to the next
SHORTEST_STRETCH = timedelta(minutes=5)
LONGEST_GAP = timedelta(minutes=100)  # a row stands between two that are farther apart; the light goes on changing
BACK_LIGHT_STOPS = 1.0  # common practice, no source
TONE_STOPS = {"light": 1.0, "middle": 0.0, "dark": -1.0}


def compensation_stops(light: str, tone: str) -> float:
    """Stops to dial in where the camera measures the light that comes back from subject and background.

    Such a meter shows middle grey (ISO 2720): a light subject asks for more, a dark one for less, and so does a bright
    background behind a subject in back light. A stop each: common practice, no source.
    """
    return TONE_STOPS[tone] + (BACK_LIGHT_STOPS if light == "back" else 0.0)


def steps_of(frame: Frame, still: Line, moving: Line, light: tuple[Glance, ...]) -> tuple[ShutterStep, ...]:
    """The shutters of use, the longest first, and when each can be had; none where each can throughout."""
    parts = {still.slowest_part: "rest", still.shutter_part: "still", moving.shutter_part: "moving"}
    found = tuple(ShutterStep(kind, part, _spans(frame, part, light)) for part, kind in sorted(parts.items()))
    whole = ((light[0].at, light[-1].at),) if light else ()
    return () if all(step.spans == whole for step in found) else found


def _spans(frame: Frame, part: int, light: tuple[Glance, ...]) -> tuple[tuple[datetime, datetime], ...]:
    """The stretches in which the light is enough for a shutter, from the first minute to the last of each.

    Those too short to be of use are left out.
    """
    least = frame.least_ev(part)
    runs = groupby(light, key=lambda glance: _enough(glance, least))
    stretches = [tuple(glances) for enough, glances in runs if enough]
    return tuple((one[0].at, one[-1].at) for one in stretches if one[-1].at - one[0].at >= SHORTEST_STRETCH)


def _enough(glance: Glance, least_ev: float) -> bool:
    return glance.ev100 is None or glance.ev100 >= least_ev


def rows_of(
    frame: Frame, still: Line, moving: Line, tone: str, light: tuple[Glance, ...], steps: Iterable[ShutterStep]
) -> tuple[Row, ...]:
    """Settings at the start, when the light or what it allows changes, between moments far apart, and at the end.

    A row that tells no more than the one before it is left out, but for the last.
    """
    if not light:
        return ()
    leasts = [frame.least_ev(step.shutter_part) for step in steps]
    states = [(glance.light, *(_enough(glance, least) for least in leasts)) for glance in light]
    changed = {now.at for now, (before, after) in zip(light[1:], pairwise(states), strict=True) if before != after}
    moments = changed | {light[0].at, light[-1].at}
    for before, after in pairwise(sorted(moments)):
        if after - before < SHORTEST_ROW and before != light[0].at:
            moments.discard(before)
        if after - before > LONGEST_GAP:
            moments.add(before + (after - before) / 2)
    rows: list[Row] = []
    for glance in light:
        due = [moment for moment in moments if moment <= glance.at]
        if not due:
            continue
        moments.difference_update(due)
        settings = (frame.setting(still, glance.ev100), frame.setting(moving, glance.ev100))
        row = Row(glance.at, glance.light, *settings, compensation_stops(glance.light, tone))
        if not rows or glance is light[-1] or _told(rows[-1]) != _told(row):
            rows.append(row)
    return tuple(rows)


def _told(row: Row) -> tuple[object, ...]:
    return row.light, row.still, row.moving, row.compensation
