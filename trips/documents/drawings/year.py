"""The year map of a view: weeks across, quarter-hours down, the score in steps of one tone that also print in grey."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from trips.core.light import YearMap
from trips.core.light.year import QUARTERS, WEEKS
from trips.documents.drawings.svg import Canvas, element, line, number, path_of, words
from trips.documents.wording.light import MONTHS_SHORT, year_description, year_title

LEFT, TOP = 52.0, 40.0
CELL_WIDTH, CELL_HEIGHT = 11.5, 3.75
PLOT_WIDTH, PLOT_HEIGHT = WEEKS * CELL_WIDTH, QUARTERS * CELL_HEIGHT
STEPS = (0.2, 0.4, 0.6, 0.8)  # of the score
TONES = (0.0, 0.14, 0.32, 0.58, 0.92)  # told apart on a grey printer
_ROW = 30.0


@dataclass(frozen=True, slots=True)
class YearOptions:
    """`trip`: first and last day, framed; `months`: (subject, its likely months 1-12), drawn below the map."""

    key: str = "year"
    trip: tuple[date, date] | None = None
    months: tuple[tuple[str, frozenset[int]], ...] = ()


def year_drawing(year: YearMap, name: str, options: YearOptions | None = None) -> str:
    """The year map as an SVG element; `name` is the view's, for the title."""
    options = options or YearOptions()
    height = TOP + PLOT_HEIGHT + 64.0 + _ROW * len(options.months)
    canvas = Canvas(options.key, LEFT + PLOT_WIDTH + 12.0, height)
    canvas.add(
        element(
            "rect",
            x=LEFT,
            y=TOP,
            width=PLOT_WIDTH,
            height=PLOT_HEIGHT,
            class_="drawing-backing",
            fill="#fff",
            stroke="currentColor",
            stroke_width=1,
        )
    )
    _draw_cells(canvas, year)
    _draw_axes(canvas, year)
    _draw_sun_lines(canvas, year)
    if options.trip:
        _draw_trip(canvas, year, options.trip)
    _draw_steps(canvas)
    _draw_months(canvas, year, options.months)
    return canvas.finished(year_title(year, name), year_description(year), "drawing-year")


def steps_of(scores: NDArray[np.float64]) -> NDArray[np.int64]:
    """The step 0-4 of each score: below 0.2, 0.4, 0.6, 0.8, and above."""
    return np.digitize(scores, STEPS).astype(np.int64)


def _draw_cells(canvas: Canvas, year: YearMap) -> None:
    """One path for each step; cells of a week that follow one another are one piece."""
    steps = steps_of(year.scores)
    for step in range(1, len(TONES)):
        pieces = []
        for week in range(WEEKS):
            inside = np.concatenate(([False], steps[week] == step, [False]))
            edges = np.flatnonzero(inside[1:] != inside[:-1])
            for first, last in zip(edges[::2], edges[1::2], strict=True):
                x, y = LEFT + week * CELL_WIDTH, TOP + first * CELL_HEIGHT
                size = (last - first) * CELL_HEIGHT
                pieces.append(f"M{number(x)} {number(y)}h{number(CELL_WIDTH)}v{number(size)}h{number(-CELL_WIDTH)}z")
        if pieces:
            canvas.add(
                element(
                    "path",
                    d="".join(pieces),
                    class_=f"drawing-step drawing-step-{step}",
                    fill="currentColor",
                    fill_opacity=TONES[step],
                )
            )


def week_place(day: date, year: int) -> float:
    """Where a day stands across the map, in weeks from its left edge (0 to 52)."""
    return min(max((day - date(year, 1, 1)).days / 7.0, 0.0), float(WEEKS))


def _draw_axes(canvas: Canvas, year: YearMap) -> None:
    for hour in range(0, 25, 3):
        y = TOP + hour * 4 * CELL_HEIGHT
        canvas.add(
            line(f"M{number(LEFT)} {number(y)}h{number(PLOT_WIDTH)}", 0.6, stroke_opacity=0.35),
            words(LEFT - 7.0, y + 4.0, f"{hour:02d}:00", text_anchor="end", font_size=12),
        )
    for month in range(1, 13):
        x = LEFT + week_place(date(year.year, month, 1), year.year) * CELL_WIDTH
        canvas.add(
            line(f"M{number(x)} {number(TOP)}v{number(PLOT_HEIGHT)}", 0.6, stroke_opacity=0.35),
            words(x + 4.0, TOP - 8.0, MONTHS_SHORT[month - 1], text_anchor="start", font_size=12),
        )


def _draw_sun_lines(canvas: Canvas, year: YearMap) -> None:
    """Sunrise and sunset whole, civil dawn and dusk dashed; each on a light ground so that dark steps show it."""
    for hours, dashes, name in (
        (year.dawn_h, "5 4", "dawn"),
        (year.sunrise_h, None, "sunrise"),
        (year.sunset_h, None, "sunset"),
        (year.dusk_h, "5 4", "dusk"),
    ):
        for points in _unbroken(hours):
            d = path_of(points)
            canvas.add(
                element("path", d=d, stroke="#fff", stroke_width=3.6, class_="drawing-halo"),
                line(d, 1.4, stroke_dasharray=dashes, class_=f"drawing-{name}"),
            )


def _unbroken(hours: NDArray[np.float64]) -> list[list[tuple[float, float]]]:
    """The line cut where the sun does not pass."""
    lines: list[list[tuple[float, float]]] = [[]]
    for week, hour in enumerate(hours):
        if np.isnan(hour):
            lines.append([])
        else:
            lines[-1].append((LEFT + (week + 0.5) * CELL_WIDTH, TOP + float(hour) * 4 * CELL_HEIGHT))
    return [points for points in lines if len(points) > 1]


def _draw_trip(canvas: Canvas, year: YearMap, trip: tuple[date, date]) -> None:
    first, last = trip
    if last.year < year.year or first.year > year.year:
        return
    x = LEFT + week_place(first, year.year) * CELL_WIDTH
    width = max(LEFT + week_place(last, year.year) * CELL_WIDTH - x, 4.0)
    canvas.add(
        element("rect", x=x - 2, y=TOP - 3, width=width + 4, height=PLOT_HEIGHT + 6, stroke="#fff", stroke_width=5,
                class_="drawing-halo"),
        element("rect", x=x - 2, y=TOP - 3, width=width + 4, height=PLOT_HEIGHT + 6, stroke="currentColor",
                stroke_width=2.4, class_="drawing-trip"),
        words(x + width / 2.0, TOP - 24.0, "trip", font_size=12.5, font_weight="600"),
    )  # fmt: skip


def _draw_steps(canvas: Canvas) -> None:
    y = TOP + PLOT_HEIGHT + 14.0
    labels = ("below 0.2", "0.2", "0.4", "0.6", "0.8 and above")
    x = LEFT
    canvas.add(words(x, y + 11.0, "score", text_anchor="start", font_size=12))
    x += 42.0
    for tone, label in zip(TONES, labels, strict=True):
        canvas.add(
            element("rect", x=x, y=y, width=20, height=14, fill="currentColor", fill_opacity=tone,
                    stroke="currentColor", stroke_width=0.8, class_="drawing-step"),
            words(x + 25.0, y + 11.0, label, text_anchor="start", font_size=12),
        )  # fmt: skip
        x += 36.0 + 6.5 * len(label)
    y += 22.0
    for x, label, dashes in ((LEFT + 42.0, "sunrise, sunset", None), (LEFT + 190.0, "dawn, dusk", "5 4")):
        dash = f"M{number(x)} {number(y + 7)}h26"
        canvas.add(
            line(dash, 1.4, stroke_dasharray=dashes),
            words(x + 32.0, y + 11.0, label, text_anchor="start", font_size=12),
        )


def _draw_months(canvas: Canvas, year: YearMap, rows: Sequence[tuple[str, frozenset[int]]]) -> None:
    """Likely months of each subject, as bars under the map."""
    for place, (name, months) in enumerate(rows):
        y = TOP + PLOT_HEIGHT + 66.0 + place * _ROW
        canvas.add(words(LEFT, y + 9.0, name, text_anchor="start", font_size=12))
        for month in sorted(months):
            x = LEFT + week_place(date(year.year, month, 1), year.year) * CELL_WIDTH
            following = date(year.year, month + 1, 1) if month < 12 else date(year.year, 12, 31)
            width = LEFT + week_place(following, year.year) * CELL_WIDTH - x
            canvas.add(
                element("rect", x=x + 1, y=y + 14.0, width=width - 2, height=7, rx=1.5, fill="currentColor",
                        class_="drawing-months")
            )  # fmt: skip
