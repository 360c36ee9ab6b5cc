"""The seat's drawing in small, for a cell of a table: rim, lens axis up, and the session's sun by class of light.

It stands beside the same light in words, so it is hidden from screen readers.
"""

from datetime import datetime

import numpy as np

from trips.core.light import ViewLight
from trips.core.sun import track
from trips.documents.drawings.svg import Ring, element, line, number, path_of

SIZE = 64.0
_RIM = 17.0
_SKY = 11.0
_RING = Ring(0.0, 0.0)
# told apart without colour: front solid, side broken, back dotted, top thin and solid
_STROKES: dict[str, tuple[float, str | None]] = {
    "front": (4.5, None),
    "side": (4.5, "4 2.5"),
    "back": (4.0, "1 3"),
    "top": (1.8, None),
}
_STEPS = 9  # points of an arc: smooth at 64 pixels


def small_seat_drawing(light: ViewLight) -> str:
    """A view's light in one session, about 64 pixels square."""
    pieces = [
        element("circle", cx=0, cy=0, r=_RIM, stroke="currentColor", stroke_width=1, stroke_opacity=0.55),
        line(f"M0 3 L0 {number(-_RIM)}", 1.2, stroke_dasharray="2 2"),
        element("circle", cx=0, cy=-_RIM, r=2.6, fill="currentColor"),
        element("path", d="M-4 6 L4 6 L0 0 Z", fill="currentColor"),
    ]
    pieces += [_strip(light, one.name, one.starts_at, one.ends_at) for one in light.on_perch]
    edge = SIZE / 2.0
    return element(
        "svg",
        *pieces,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"{number(-edge)} {number(-edge)} {number(SIZE)} {number(SIZE)}",
        width=SIZE,
        height=SIZE,
        class_="drawing drawing-small",
        aria_hidden="true",
        fill="none",
    )


def _strip(light: ViewLight, name: str, starts_at: datetime, ends_at: datetime) -> str:
    if name not in _STROKES:
        return ""
    place = light.hide.point
    sun = track(
        place.latitude_deg, place.longitude_deg, np.linspace(starts_at.timestamp(), ends_at.timestamp(), _STEPS)
    )
    points = [
        _RING.at(float(azimuth) - light.view.bearing_deg, _RIM + 3.0 + _SKY * max(float(height), 0.0) / 90.0)
        for azimuth, height in zip(sun.azimuth_deg, sun.apparent_deg, strict=True)
    ]
    width, dashes = _STROKES[name]
    return line(path_of(points), width, stroke_dasharray=dashes)
