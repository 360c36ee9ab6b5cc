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
from trips.documents.drawings.svg import Canvas, Ring, chip, element, line, path_of, words
from trips.documents.quantities import clock_text
from trips.documents.wording.light import compass_letter, drawn_word, seat_description, seat_title

_RING = Ring(0.0, 0.0)
_SKY = 92.0
_WORD = 26.0  # a strip this wide has room for a word
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
    _draw_strips(canvas, light)
    _draw_hills(canvas, light)
    taken = _draw_names(canvas, light) + [_RING.at(angle, RIM + 12.0) for _, angle in _compass_outside(light)]
    _draw_track(canvas, light, options, points, taken)
    _draw_compass(canvas, light)
    draw_spot(canvas, light, options.framing or Framing(), options.units)
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
        beside_subject = name in outside
        x, y = _RING.at(angle, RIM + 12.0 if beside_subject else RIM - 15.0)
        weight, letter = "600" if name == "N" else None, compass_letter(name)
        canvas.add(
            chip(x, y, letter, 16) if beside_subject else words(x, y + 5, letter, font_size=16, font_weight=weight)
        )


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


def _name_place(light: ViewLight, points: list[tuple[float, float, float]]) -> tuple[float, float, float]:
    """Where the word of a strip stands: (angle, lower edge, upper edge) beyond the rim.

    The middle of the strip, or the nearest place to it that is wide enough and clear of the compass letters.
    """
    letters = [angle for _, angle in _compass_outside(light)]
    places = []
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        angle, height, _ = points[int(len(points) * share)]
        azimuth = np.array([(angle + light.view.bearing_deg) % 360.0])
        places.append((angle, rise(float(height_at_deg(light.view.horizon, azimuth)[0])), rise(height)))
    clear = [
        (angle, low, high)
        for angle, low, high in places
        if high - low >= _WORD and all(_apart_deg(angle, letter) > 13.0 for letter in letters)
    ]
    return clear[0] if clear else places[0]


def _draw_names(canvas: Canvas, light: ViewLight) -> list[tuple[float, float]]:
    """The word of each class: on its strip where that is wide enough above the hills, else inside the rim.

    Returns where the words on strips stand: times keep clear of them.
    """
    taken = []
    for interval in light.on_perch:
        points = _path_points(light, interval.starts_at, interval.ends_at)
        if interval.name not in CLASS_NAMES[1:] or len(points) < 2:
            continue
        angle, low, high = _name_place(light, points)
        if high - low >= _WORD:
            taken.append(_RING.at(angle, RIM + (low + high) / 2.0))
            canvas.add(chip(*taken[-1], drawn_word(interval.name)))
            continue
        side = np.sin(np.radians(angle))
        anchor = "end" if side > 0.5 else "start" if side < -0.5 else "middle"
        x, y = _RING.at(angle, RIM - (24.0 if anchor != "middle" else 32.0))
        said = drawn_word(interval.name)
        canvas.add(words(x, y + 4.0, said, text_anchor=anchor, font_size=16, font_weight="600"))
    return taken


def _draw_track(
    canvas: Canvas,
    light: ViewLight,
    options: SeatOptions,
    points: list[tuple[float, float, float]],
    taken: list[tuple[float, float]],
) -> None:
    if not points:
        x, y = _RING.at(180.0, RIM + 24.0)
        canvas.add(words(x, y, gettext("the sun is down"), font_size=16))
        return
    whole = [_RING.at(angle, RIM + rise(height)) for angle, height, _ in points]
    heavy = options.sessions or (light.session,)
    canvas.add(line(path_of(whole), 1.2, class_="drawing-track"))
    for session in heavy:
        own = _path_points(light, session.starts_at, session.ends_at)
        stretch = [_RING.at(angle, RIM + rise(height)) for angle, height, _ in own]
        if len(stretch) > 1:
            canvas.add(line(path_of(stretch), 3.4, stroke_linecap="round", class_="drawing-track"))
    _draw_times(canvas, light, points, taken)


def _draw_times(
    canvas: Canvas, light: ViewLight, points: list[tuple[float, float, float]], taken: list[tuple[float, float]]
) -> None:
    """Change times with a small sun, whole hours with a tick; one too near another label is left to the description."""
    zone = light.session.starts_at.tzinfo
    changes = [light.session.starts_at, *(interval.ends_at for interval in light.on_perch)]
    first = datetime.fromtimestamp(points[0][2], zone).replace(minute=0, second=0, microsecond=0)
    step = 2 if points[-1][2] - points[0][2] > 6 * 3600 else 1
    hours = [datetime.fromtimestamp(first.timestamp() + 3600.0 * number, zone) for number in range(26)]
    hours = [hour for hour in hours if hour.hour % step == 0 and points[0][2] < hour.timestamp() < points[-1][2]]
    for moment, change in [(moment, True) for moment in changes] + [(moment, False) for moment in hours]:
        found = _path_points(light, moment, moment + timedelta(seconds=1))
        if not found:
            continue
        angle, height, stamp = found[0]
        spot, label = _RING.at(angle, RIM + rise(height)), _RING.at(angle, RIM + rise(height) + 15.0)
        if height < 2.0:  # beside the end of the strip, not under it
            ahead = 1.0 if stamp - points[0][2] > points[-1][2] - stamp else -1.0
            turning = np.sign((points[1][0] - points[0][0] + 180.0) % 360.0 - 180.0)
            label = _RING.at(angle + float(ahead * turning) * 8.0, RIM + 14.0)
        if change:
            canvas.add(element("circle", cx=spot[0], cy=spot[1], r=4.2, fill="currentColor", class_="drawing-sun"))
        else:
            tick = _RING.at(angle, RIM + rise(height) + 5.0)
            canvas.add(line(path_of([spot, tick]), 1.2))
        if all(abs(label[0] - x) > 46.0 or abs(label[1] - y) > 18.0 for x, y in taken):
            taken.append(label)
            canvas.add(_time_label(angle, label, clock_text(moment), bold=change))


def _time_label(angle: float, place: tuple[float, float], text: str, *, bold: bool) -> str:
    side = np.sin(np.radians(angle))
    anchor = "start" if side > 0.35 else "end" if side < -0.35 else "middle"
    return words(place[0], place[1] + 5.0, text, text_anchor=anchor, font_size=16, font_weight="600" if bold else None)
