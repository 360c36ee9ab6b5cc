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
    parts = {
        still.slowest_part: "rest" if frame.support else "hand",
        still.shutter_part: "still",
        moving.shutter_part: "moving",
    }
    found = tuple(ShutterStep(kind, part, _spans(frame, part, light)) for part, kind in sorted(parts.items()))
    whole = ((light[0].at, light[-1].at),) if light else ()
    return () if all(step.spans == whole for step in found) else found


def _spans(frame: Frame, part: int, light: tuple[Glance, ...]) -> tuple[tuple[datetime, datetime], ...]:
    """The stretches in which the light is enough for a shutter, each until the first minute in which it is not.

    Those too short to be of use are left out.
    """
    least = frame.least_ev(part)
    judged = groupby(light, key=lambda glance: glance.ev100 is None or glance.ev100 >= least)
    runs = [(enough, [*own]) for enough, own in judged]
    overs = [*(own[0].at for _, own in runs[1:]), *(glance.at for glance in light[-1:])]
    return tuple(
        (own[0].at, over)
        for (enough, own), over in zip(runs, overs, strict=True)
        if enough and own[-1].at - own[0].at >= SHORTEST_STRETCH
    )


def rows_of(
    frame: Frame, still: Line, moving: Line, tone: str, light: tuple[Glance, ...], steps: Iterable[ShutterStep]
) -> tuple[Row, ...]:
    """Settings at the start, when the light or what it allows changes, between moments far apart, and at the end.

    Where a shutter of the `steps` comes or goes there is always a row, and where the ISOs of the body no longer expose
    the light with the row before. A row that tells no more than the one before it is left out, but for the last.
    """
    if not light:
        return ()
    allowed = {moment for step in steps for span in step.spans for moment in span}
    named = {now.at for before, now in pairwise(light) if before.light != now.light}
    moments = allowed | named | {light[0].at, light[-1].at}
    for before, after in pairwise(sorted(moments)):
        if after - before < SHORTEST_ROW and before not in allowed | {light[0].at}:
            moments.discard(before)
        if after - before > LONGEST_GAP:
            moments.add(before + (after - before) / 2)
    rows: list[Row] = []
    for glance in light:
        due = [moment for moment in moments if moment <= glance.at]
        if not due and (min(moments) - glance.at < SHORTEST_ROW or _holds(frame, rows[-1], glance)):
            continue
        moments.difference_update(due)
        settings = (frame.setting(still, glance.ev100), frame.setting(moving, glance.ev100))
        row = Row(glance.at, glance.light, *settings, compensation_stops(glance.light, tone))
        if not rows or glance is light[-1] or _told(rows[-1]) != _told(row):
            rows.append(row)
    return tuple(rows)


def _holds(frame: Frame, row: Row, glance: Glance) -> bool:
    return frame.holds(row.still, glance.ev100) and frame.holds(row.moving, glance.ev100)


def _told(row: Row) -> tuple[object, ...]:
    return row.light, row.still, row.moving, row.compensation
