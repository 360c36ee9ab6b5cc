"""A plot of the scoring: how the sun's height and the light's direction count."""

import numpy as np

from trips.core.light.score import direction_factor, height_factor
from trips.core.values import LightSettings
from trips.documents.drawings.svg import Canvas, element, line, number, path_of, words
from trips.documents.wording.light import scoring_description

_SIZE = (250.0, 150.0)
_DASHES = {"front": None, "side": "7 4", "back": "2 3"}


def scoring_drawing(settings: LightSettings, key: str = "scoring") -> str:
    """Two curves side by side: factor by the sun's height, factor by the angle off the seat's back for each wish."""
    canvas = Canvas(key, 640.0, 230.0)
    heights = np.linspace(-8.0, 90.0, 197)
    angles = np.linspace(0.0, 180.0, 181)
    _axes(canvas, 46.0, "height of the sun", [0, 15, 30, 45, 60, 75, 90], (-8.0, 90.0))
    _curve(canvas, 46.0, heights, height_factor(heights, settings), (-8.0, 90.0), None)
    _axes(canvas, 366.0, "angle from straight behind the seat", [0, 45, 90, 135, 180], (0.0, 180.0))
    for wish, dashes in _DASHES.items():
        factors = direction_factor(angles, wish, settings)
        _curve(canvas, 366.0, angles, factors, (0.0, 180.0), dashes)
    for place, (wish, dashes) in enumerate(_DASHES.items()):
        x, y = 366.0 + place * 84.0, 222.0
        canvas.add(
            line(f"M{number(x)} {number(y - 4)}h26", 2, stroke_dasharray=dashes),
            words(x + 31.0, y, wish, text_anchor="start", font_size=12),
        )
    return canvas.finished("How the light is scored", scoring_description(settings), "drawing-scoring")


def _axes(canvas: Canvas, left: float, label: str, ticks: list[int], bounds: tuple[float, float]) -> None:
    width, height = _SIZE
    canvas.add(
        element("rect", x=left, y=16, width=width, height=height, stroke="currentColor", stroke_width=1),
        words(left + width / 2.0, 16.0 + height + 34.0, label, font_size=12),
    )
    for tick in ticks:
        x = left + (tick - bounds[0]) / (bounds[1] - bounds[0]) * width
        canvas.add(
            line(f"M{number(x)} {number(16 + height)}v5", 1),
            words(x, 16.0 + height + 18.0, f"{tick}°", font_size=12),
        )
    for share in (0.0, 0.5, 1.0):
        y = 16.0 + height * (1.0 - share)
        canvas.add(
            line(f"M{number(left)} {number(y)}h{number(width)}", 0.6, stroke_opacity=0.35),
            words(left - 7.0, y + 4.0, f"{share:.1f}", text_anchor="end", font_size=12),
        )


def _curve(
    canvas: Canvas,
    left: float,
    along: np.ndarray,
    factors: np.ndarray,
    bounds: tuple[float, float],
    dashes: str | None,
) -> None:
    width, height = _SIZE
    points = [
        (left + (float(x) - bounds[0]) / (bounds[1] - bounds[0]) * width, 16.0 + height * (1.0 - float(factor)))
        for x, factor in zip(along, factors, strict=True)
    ]
    canvas.add(line(path_of(points), 2.2, stroke_dasharray=dashes))
