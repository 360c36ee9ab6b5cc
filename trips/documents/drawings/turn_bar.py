"""The light of a turn as a bar from its start to its end, and the key to the patterns of bars and of seat drawings."""

from datetime import datetime
from typing import Any

from trips.core.light import Interval
from trips.documents.drawings.seat import patterns
from trips.documents.drawings.svg import Canvas, chip, element, line, path_of, words
from trips.documents.quantities import clock_text
from trips.documents.wording.advice import LIGHT_SHORT, light_short

_WIDTH, _HEIGHT = 240.0, 15.0
_TEXT, _LETTER = 9.0, 4.9  # size of a label and about the width of its letters; on paper a unit is a point or more
_APART = 3.0  # between two labels: a millimetre
_LINE = 10.5
_PLAIN = {"none": 0.85, "front": 0.16, "shade": 0.45, "soft": 0.0}  # the others have a pattern


def turn_bar(parts: tuple[Interval, ...], key: str) -> str:
    """The classes of light on the perch to the scale of time, with the times at which they change, as SVG.

    A class is named on its part, or beside its first time where the part is too narrow. Labels keep a millimetre
    from one another: they stand in as many rows as that takes.
    """
    begun, span = parts[0].starts_at, (parts[-1].ends_at - parts[0].starts_at).total_seconds() or 1.0

    def place(moment: datetime) -> float:
        return (moment - begun).total_seconds() / span * _WIDTH

    pieces, labels = [], []
    for part in parts:
        left, right, said = place(part.starts_at), place(part.ends_at), light_short(part.name)
        pieces.append(_piece(key, part.name, left, 0.0, right - left, _HEIGHT))
        named = _width(said) + 6.0 <= right - left
        if named:
            pieces.append(chip((left + right) / 2.0, _HEIGHT / 2.0, said, _TEXT))
        labels.append((left, clock_text(part.starts_at) if named else f"{clock_text(part.starts_at)} {said}"))
    labels.append((_WIDTH, clock_text(parts[-1].ends_at)))
    told, rows = _labels(labels)
    above, below = rows // 2 * _LINE + (4.0 if rows > 1 else 1.0), (rows + 1) // 2 * _LINE + 4.0
    canvas = Canvas(key, _WIDTH + 2.0, above + _HEIGHT + below, -1.0, -above)
    canvas.definitions.extend(patterns(key))
    canvas.add(*pieces, *told)
    return canvas.finished("", "", "drawing-bar")


def light_key() -> tuple[tuple[str, str], ...]:
    """What each pattern stands for: the pattern as SVG, and its words."""
    return tuple((_swatch(f"key-{name}", name), light_short(name)) for name in LIGHT_SHORT)


def _swatch(key: str, name: str) -> str:
    canvas = Canvas(key, 26.0, 12.0, -1.0, -1.0)
    canvas.definitions.extend(patterns(key))
    canvas.add(_piece(key, name, 0.0, 0.0, 24.0, 10.0))
    return canvas.finished("", "", "drawing-key")


def _piece(key: str, name: str, x: float, y: float, width: float, height: float) -> str:
    plain = _PLAIN.get(name)
    fill = f"url(#{key}-{name})" if plain is None else "currentColor"
    box: dict[str, Any] = {"x": x, "y": y, "width": width, "height": height, "stroke": "currentColor"}
    return element("rect", **box, stroke_width=0.8, fill=fill, fill_opacity=plain)


def _width(text: str) -> float:
    return _LETTER * len(text)


def _labels(labels: list[tuple[float, str]]) -> tuple[list[str], int]:
    """The labels in as many rows as they need, each with a line to its time, and how many rows there are.

    The first row stands under the bar and the second above it, so that no line crosses a label.
    """
    rows = 1
    while any(_needed(labels[row::rows]) > _WIDTH for row in range(rows)):
        rows += 1
    found = []
    for row in range(rows):
        own, depth = labels[row::rows], row // 2 * _LINE
        end, near, base = (0.0, -2.0 - depth, -4.0 - depth) if row % 2 else (_HEIGHT, 18.0 + depth, 26.0 + depth)
        for (at, text), left in zip(own, _lefts(own), strict=True):
            found.append(words(left, base, text, text_anchor="start", font_size=_TEXT, font_weight="600"))
            foot = min(max(at, left + 1.0), left + _width(text) - 1.0)
            found.append(line(path_of([(at, end), (foot, near)]), 0.8))
    return found, rows


def _needed(labels: list[tuple[float, str]]) -> float:
    return sum(_width(text) + _APART for _at, text in labels) - _APART


def _lefts(labels: list[tuple[float, str]]) -> list[float]:
    """Left ends in one line: each label as near to its time as the others let it."""
    lefts, edge = [], 0.0
    for at, text in labels:
        lefts.append(max(at - 11.0, edge))
        edge = lefts[-1] + _width(text) + _APART
    edge = _WIDTH
    for number in reversed(range(len(labels))):
        lefts[number] = min(lefts[number], edge - _width(labels[number][1]))
        edge = lefts[number] - _APART
    return lefts
