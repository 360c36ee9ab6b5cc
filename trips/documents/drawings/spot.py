"""Inside the rim of the seat's drawing: the hide, what the lens sees, water, perch and the hide's own shadow."""

import numpy as np

from trips.core.light import Framing, ViewLight
from trips.core.sun import position
from trips.documents.drawings.svg import Canvas, Place, Ring, element, line, number, path_of
from trips.documents.quantities import length_text

RIM = 112.0
_RING = Ring(0.0, 0.0)
_GROUND = 0.68  # the far end of the perch stands at this share of the rim


def draw_spot(canvas: Canvas, light: ViewLight, framing: Framing, units: str) -> None:
    """All that stands on the ground; distances to one scale, the far end of the perch always at the same place."""
    _draw_axis(canvas, light, framing, units)
    _draw_shadow(canvas, light)
    _draw_seat(canvas, light)


def _metres_scale(light: ViewLight) -> float:
    return RIM * _GROUND / light.view.far_m


def _draw_axis(canvas: Canvas, light: ViewLight, framing: Framing, units: str) -> None:
    """What the lens sees, the perch with its distances, the water's edge."""
    view, scale = light.view, _metres_scale(light)
    half = framing.width_deg / 2.0
    edges = [_RING.at(-half, RIM), (_RING.x, _RING.y), _RING.at(half, RIM)]
    canvas.add(
        element("path", d=path_of(edges, closed=True), fill="currentColor", fill_opacity=0.12, class_="drawing-frame"),
        line(path_of(edges), 0.8, stroke_dasharray="4 3"),
    )
    near, far = _RING.y - view.near_m * scale, _RING.y - view.far_m * scale
    canvas.add(bird(_RING.x, far))
    canvas.taken.append((_RING.x - 15.0, far - 23.0, _RING.x + 15.0, far))
    has_edge = view.water_edge_m is not None and view.water_edge_m < view.far_m
    edge = _RING.y - (view.water_edge_m or 0.0) * scale
    if has_edge:
        canvas.taken.append((_RING.x - 42.0, edge - 3.0, _RING.x + 42.0, edge + 3.0))
    canvas.label(length_text(view.far_m, units), *_beside(24.0, far), *_beside(24.0, far - 12.0))
    if view.far_m > view.near_m:
        canvas.add(line(f"M{number(_RING.x)} {number(near)} V{number(far)}", 5))
        canvas.label(length_text(view.near_m, units), *_beside(10.0, near), *_beside(10.0, near + 22.0))
    if has_edge:
        wave = f"M{number(_RING.x - 42)} {number(edge)} q7 -6 14 0 t14 0 t14 0 t14 0 t14 0 t14 0"
        canvas.add(line(wave, 1.5, class_="drawing-water"))
        canvas.label(
            length_text(view.water_edge_m or 0.0, units), *reversed(_beside(50.0, edge)), *_beside(50.0, edge + 10.0)
        )


def _beside(gap: float, y: float) -> tuple[Place, Place]:
    """Right and left of the axis, at a height."""
    return Place(_RING.x + gap, y + 5.0, "start"), Place(_RING.x - gap, y + 5.0, "end")


def _draw_shadow(canvas: Canvas, light: ViewLight) -> None:
    """The hide's own shadow at the middle of the time it lies on water or perch."""
    spans = [caution for caution in light.cautions if caution.kind in ("shadow_on_water", "shadow_on_perch")]
    if not spans or light.hide.roof_height_m is None:
        return
    moment = spans[0].starts_at + (spans[0].ends_at - spans[0].starts_at) / 2
    place = light.hide.point
    azimuth, height = position(place.latitude_deg, place.longitude_deg, place.elevation_m, [moment])[0]
    if height <= 0.3:
        return
    angle = azimuth - light.view.bearing_deg
    length = min(light.hide.roof_height_m / float(np.tan(np.radians(height))) * _metres_scale(light), RIM - 2.0)
    half = min(light.hide.width_m * _metres_scale(light) / 2.0, 44.0)
    away = _RING.at(angle + 180.0, length)
    corners = [(_RING.x - half, _RING.y), (_RING.x + half, _RING.y)]
    thrown = [(x + away[0], y + away[1]) for x, y in reversed(corners)]
    canvas.add(
        element(
            "path",
            d=path_of(corners + thrown, closed=True),
            fill="currentColor",
            fill_opacity=0.22,
            stroke="currentColor",
            stroke_width=0.8,
            stroke_dasharray="2 2",
            class_="drawing-shadow",
        )
    )


def _draw_seat(canvas: Canvas, light: ViewLight) -> None:
    """The hide with its slot, and who sits in it."""
    half = min(max(light.hide.width_m * _metres_scale(light) / 2.0, 13.0), 44.0)
    x, y = _RING.x, _RING.y
    canvas.add(
        element(
            "path",
            d=f"M{number(x - 5)} {number(y)} H{number(x - half)} V{number(y + 20)} H{number(x + half)} V{number(y)} "
            f"H{number(x + 5)}",
            fill="#fff",
            stroke="currentColor",
            stroke_width=2.2,
            class_="drawing-hide",
        ),
        element("circle", cx=x, cy=y + 9.0, r=4.5, fill="currentColor"),
    )
    canvas.label(f"{light.view.bearing_deg:.0f}°", Place(x, y + 38.0), bold=True)


_BODY = (
    "M-15 -8 L-5 -13 C-1 -20 5 -23 10 -20 L15 -18 L10 -16 C10 -9 5 -5 -1 -5 C-4 -5 -6 -6 -7 -7 Z"  # beak to the right
)
_LEGS = "M-1 -5 V0 M3 -6 V0"
_STUMP = "M-9 0 H11"


def bird(x: float, y: float) -> str:
    """The bird with its feet at (x, y); about 30 wide and 26 high."""
    return element(
        "g",
        element("path", d=_BODY, fill="currentColor"),
        line(_LEGS, 1.2),
        line(_STUMP, 3, stroke_linecap="round"),
        class_="drawing-bird",
        transform=f"translate({number(x)} {number(y)})",
    )
