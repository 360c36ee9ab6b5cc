"""The seat's drawing: the lens axis points up, the subject stands at the top, the sun's track runs round the seat.

Hills and the sun stand on one rim, drawn outwards by their height above the level horizon, so that the sun is seen to
clear the hills where it does. The strip between rim and track carries the class of light, by pattern and by word.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from participants.core.language import gettext
from trips.core.horizons import height_at_deg
from trips.core.light import Framing, ViewLight
from trips.core.light.geometry import CLASS_NAMES
from trips.core.sun import SUNRISE_DEG, track
from trips.core.values import Session
from trips.documents.drawings.spot import RIM, draw_spot
from trips.documents.drawings.svg import APART, Canvas, Place, Ring, element, line, path_of
from trips.documents.quantities import clock_text
from trips.documents.wording.light import compass_letter, drawn_word, seat_description, seat_title

_RING = Ring(0.0, 0.0)
_SKY = 92.0
_WORD = 26.0  # a strip this wide has room for a word
_ASIDE = (
    0.0,
    -10.0,
    10.0,
    -18.0,
    18.0,
    -26.0,
    26.0,
    -36.0,
    36.0,
)  # degrees that a letter of the compass may stand beside its mark
_COMPASS = (("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0))


@dataclass(frozen=True, slots=True)
class SeatOptions:
    """`key` makes ids unique on a page; `sessions`: stretches drawn heavy on a track that runs longer.

    `units`: of all lengths, in the drawing and its description (metric or feet).
    """

    key: str = "seat"
    sessions: tuple[Session, ...] = ()
    framing: Framing | None = None
    units: str = "metric"


def rise(height_deg: float) -> float:
    """How far outside the rim a height stands; low heights, which matter most, are drawn larger."""
    return _SKY * float(max(height_deg, 0.0) / 90.0) ** 0.7


def seat_drawing(light: ViewLight, options: SeatOptions | None = None) -> str:
    """The drawing of one view over one session (or a whole day) as an SVG element.

    Times are the session's local clock; the drawing is as large as the sun's track asks for, 440 x 440 at most, and
    scales. Its title and description tell the same in words.
    """
    options = options or SeatOptions()
    points = _path_points(light, light.session.starts_at, light.session.ends_at)
    canvas = _canvas_around(options.key, light, points)
    canvas.definitions.extend(patterns(options.key))
    _draw_ground(canvas, light)
    draw_spot(canvas, light, options.framing or Framing(), options.units)
    _draw_strips(canvas, light)
    _draw_hills(canvas, light)
    _draw_track(canvas, light, options, points)
    _draw_changes(canvas, light, points)
    _draw_names(canvas, light)
    _draw_hours(canvas, light, points)
    _draw_compass(canvas, light)
    return canvas.finished(seat_title(light), seat_description(light, options.units), "drawing-seat")


def _canvas_around(key: str, light: ViewLight, points: list[tuple[float, float, float]]) -> Canvas:
    """A canvas that holds rim, hills and track with room for the times beside them."""
    edges = [_RING.at(angle, RIM + rise(height)) for angle, height, _ in points]
    highest = max((height for _, height in light.view.horizon), default=0.0)
    reach = RIM + rise(highest) + 6.0
    left = min([-reach, *(x - 70.0 for x, _ in edges)])
    right = max([reach, *(x + 70.0 for x, _ in edges)])
    top = min([-reach - 14.0, *(y - 26.0 for _, y in edges)])
    bottom = max([reach if points else reach + 34.0, *(y + 26.0 for _, y in edges)])
    return Canvas(key, right - left, bottom - top, left, top)


def patterns(key: str) -> list[str]:
    """A pattern for each class, told apart without colour: front plain, side slanted, back crossed, top dotted."""
    slant = line("M-2 8 L8 -2 M4 14 L14 4", 1.3)
    cross = line("M-1 -1 L7 7 M7 -1 L-1 7", 0.9, stroke_opacity=0.85)
    dots = element("circle", cx=3, cy=3, r=1.15, fill="currentColor")
    sizes = {"side": (10, slant), "back": (6, cross), "top": (6, dots)}
    return [
        element("pattern", mark, id=f"{key}-{name}", width=size, height=size, patternUnits="userSpaceOnUse")
        for name, (size, mark) in sizes.items()
    ]


def _turned(light: ViewLight, azimuth_deg: float) -> float:
    return (azimuth_deg - light.view.bearing_deg) % 360.0


def _draw_ground(canvas: Canvas, light: ViewLight) -> None:
    open_assumed = "horizon" in light.view.assumed or not light.view.horizon
    canvas.add(
        element(
            "circle",
            cx=_RING.x,
            cy=_RING.y,
            r=RIM,
            fill="currentColor",
            fill_opacity=0.035,
            stroke="currentColor",
            stroke_width=1.4,
            stroke_dasharray="5 3" if open_assumed else None,
            class_="drawing-rim",
        )
    )


def _draw_compass(canvas: Canvas, light: ViewLight) -> None:
    """Marks for north, east, south and west on the rim; outside it where the subject stands."""
    outside = [name for name, _ in _compass_outside(light)]
    for name, azimuth in _COMPASS:
        angle = _turned(light, azimuth)
        inner, outer = _RING.at(angle, RIM - 5.0), _RING.at(angle, RIM)
        canvas.add(line(path_of([inner, outer]), 1.4))
        spots = [_RING.at(angle, RIM + 12.0)] if name in outside else []
        spots += [_RING.at(angle + side, RIM - 15.0) for side in _ASIDE]
        spots += [_RING.at(angle, RIM - inner) for inner in (24.0, 34.0, 42.0, 53.0, 64.0)]
        places = (Place(x, y + 5.0) for x, y in spots)
        canvas.label(compass_letter(name), *places, bold=name == "N", ground=name in outside)


def _draw_hills(canvas: Canvas, light: ViewLight) -> None:
    if not light.view.horizon:
        return
    azimuths = np.unique(np.concatenate([np.arange(0.0, 361.0, 2.0), [point[0] for point in light.view.horizon]]))
    heights = height_at_deg(light.view.horizon, azimuths)
    outer = [
        _RING.at(_turned(light, float(azimuth)), RIM + rise(float(height)))
        for azimuth, height in zip(azimuths, heights, strict=True)
    ]
    inner = [_RING.at(_turned(light, float(azimuth)), RIM) for azimuth in azimuths[::-1]]
    ring = f"{path_of(outer, closed=True)} {path_of(inner, closed=True)}"
    canvas.add(
        element("path", d=ring, fill="#fff", fill_rule="evenodd", class_="drawing-backing"),
        element("path", d=ring, fill="currentColor", fill_opacity=0.30, fill_rule="evenodd", class_="drawing-hills"),
        line(path_of(outer, closed=True), 1.2),
    )


def _path_points(light: ViewLight, starts_at: datetime, ends_at: datetime) -> list[tuple[float, float, float]]:
    """(angle, height, stamp) of the sun from one moment to another, every few minutes, while it is up."""
    first, last = starts_at.timestamp(), ends_at.timestamp()
    stamps = np.linspace(first, last, max(2, int((last - first) / 120.0) + 1))
    place = light.hide.point
    sun = track(place.latitude_deg, place.longitude_deg, stamps)
    return [
        (_turned(light, float(azimuth)), float(apparent), float(stamp))
        for azimuth, apparent, geometric, stamp in zip(
            sun.azimuth_deg, sun.apparent_deg, sun.geometric_deg, sun.stamps, strict=True
        )
        if geometric >= SUNRISE_DEG - 0.02
    ]


def _draw_strips(canvas: Canvas, light: ViewLight) -> None:
    """The classes: each its pattern between rim and track."""
    for interval in light.on_perch:
        if interval.name not in CLASS_NAMES[1:]:
            continue
        points = _path_points(light, interval.starts_at, interval.ends_at)
        if len(points) < 2:
            continue
        outer = [_RING.at(angle, RIM + rise(height)) for angle, height, _ in points]
        inner = [_RING.at(angle, RIM) for angle, _, _ in reversed(points)]
        shape = path_of(outer + inner, closed=True)
        plain = interval.name == "front"
        canvas.add(
            element("path", d=shape, class_="drawing-backing", fill="#fff"),
            element(
                "path",
                d=shape,
                class_=f"drawing-class drawing-{interval.name}",
                fill="currentColor" if plain else f"url(#{canvas.key}-{interval.name})",
                fill_opacity=0.16 if plain else None,
                stroke="currentColor",
                stroke_width=0.8,
            ),
        )


def _compass_outside(light: ViewLight) -> list[tuple[str, float]]:
    """The letters that stand outside the rim, as the subject is where they would stand and the sun is not."""
    angles = [(name, _turned(light, azimuth)) for name, azimuth in _COMPASS]
    track_deg = [angle for angle, _, _ in _path_points(light, light.session.starts_at, light.session.ends_at)]
    return [
        (name, angle)
        for name, angle in angles
        if min(angle, 360.0 - angle) < 18.0 and all(_apart_deg(angle, sun) > 13.0 for sun in track_deg)
    ]


def _apart_deg(one_deg: float, other_deg: float) -> float:
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def _draw_names(canvas: Canvas, light: ViewLight) -> None:
    """The word of each class: on its strip where that is wide enough above the hills, else inside the rim."""
    for interval in light.on_perch:
        points = _path_points(light, interval.starts_at, interval.ends_at)
        if interval.name not in CLASS_NAMES[1:] or len(points) < 2:
            continue
        on_strip, inside = [], []
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):  # the middle, else the nearest to it that is clear
            angle, height, _ = points[int(len(points) * share)]
            azimuth = np.array([(angle + light.view.bearing_deg) % 360.0])
            low, high = rise(float(height_at_deg(light.view.horizon, azimuth)[0])), rise(height)
            if high - low >= _WORD:
                x, y = _RING.at(angle, RIM + (low + high) / 2.0)
                on_strip.append(Place(x, y + 5.4))
            inside += _inside_places(angle)
        canvas.label(drawn_word(interval.name), *(on_strip or inside), bold=True, ground=bool(on_strip))


def _inside_places(angle: float) -> list[Place]:
    side = np.sin(np.radians(angle))
    anchor = "end" if side > 0.5 else "start" if side < -0.5 else "middle"
    found = (_RING.at(angle, RIM - inner - (0.0 if anchor != "middle" else 8.0)) for inner in (24.0, 32.0, 40.0, 56.0))
    return [Place(x, y + 4.0 + aside, anchor) for x, y in found for aside in (0.0, -8.0, 8.0, -16.0, 16.0)]


def _draw_track(
    canvas: Canvas, light: ViewLight, options: SeatOptions, points: list[tuple[float, float, float]]
) -> None:
    if not points:
        canvas.label(gettext("the sun is down"), Place(*_RING.at(180.0, RIM + 24.0)))
        return
    whole = [_RING.at(angle, RIM + rise(height)) for angle, height, _ in points]
    heavy = options.sessions or (light.session,)
    canvas.add(line(path_of(whole), 1.2, class_="drawing-track"))
    for session in heavy:
        own = _path_points(light, session.starts_at, session.ends_at)
        stretch = [_RING.at(angle, RIM + rise(height)) for angle, height, _ in own]
        if len(stretch) > 1:
            canvas.add(line(path_of(stretch), 3.4, stroke_linecap="round", class_="drawing-track"))


def _draw_changes(canvas: Canvas, light: ViewLight, points: list[tuple[float, float, float]]) -> None:
    """A small sun, and the time, where the light changes."""
    for moment in (light.session.starts_at, *(interval.ends_at for interval in light.on_perch)):
        for angle, height, stamp in _path_points(light, moment, moment + timedelta(seconds=1))[:1]:
            x, y = _RING.at(angle, RIM + rise(height))
            canvas.add(element("circle", cx=x, cy=y, r=4.2, fill="currentColor", class_="drawing-sun"))
            _time_label(canvas, points, (angle, height, stamp), clock_text(moment), bold=True)


def _draw_hours(canvas: Canvas, light: ViewLight, points: list[tuple[float, float, float]]) -> None:
    """A tick, and the time, at whole hours."""
    if not points:
        return
    first = datetime.fromtimestamp(points[0][2], light.session.starts_at.tzinfo).replace(minute=0, second=0)
    step = 2 if points[-1][2] - points[0][2] > 6 * 3600 else 1
    for number in range(26):
        moment = datetime.fromtimestamp(first.timestamp() + 3600.0 * number, first.tzinfo).replace(microsecond=0)
        if moment.hour % step or not points[0][2] < moment.timestamp() < points[-1][2]:
            continue
        for angle, height, stamp in _path_points(light, moment, moment + timedelta(seconds=1))[:1]:
            ends = [_RING.at(angle, RIM + rise(height) + longer) for longer in (0.0, 5.0)]
            canvas.add(line(path_of(ends), 1.2))
            _time_label(canvas, points, (angle, height, stamp), clock_text(moment), bold=False)


def _time_label(
    canvas: Canvas,
    points: list[tuple[float, float, float]],
    spot: tuple[float, float, float],
    text: str,
    *,
    bold: bool,
) -> None:
    """The time beside a spot of the track; one too near another label is left to the description."""
    angle, height, stamp = spot
    x, y = _RING.at(angle, RIM + rise(height) + 15.0)
    if height < 2.0:  # beside the end of the strip, not under it
        ahead = 1.0 if stamp - points[0][2] > points[-1][2] - stamp else -1.0
        turning = np.sign((points[1][0] - points[0][0] + 180.0) % 360.0 - 180.0)
        x, y = _RING.at(angle + float(ahead * turning) * 8.0, RIM + 14.0)
    side = np.sin(np.radians(angle))
    place = Place(x, y + 5.0, "start" if side > 0.35 else "end" if side < -0.35 else "middle")
    if canvas.room(place.box(text)) >= APART:
        canvas.label(text, place, bold=bold)
