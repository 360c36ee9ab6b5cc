"""Pieces of an SVG drawing: elements with escaped text and plain numbers, nothing a strict page policy refuses.

No style attributes, no style sheets, no scripts: classes for pages, presentation attributes for paper. Numbers for
machines always have a point. `text-anchor` stands on each text, never on the root.
"""

import math
import unicodedata
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

Value = str | float | int | None
Box = tuple[float, float, float, float]  # left, top, right, bottom
LABEL = 16.0  # size of a label's letters; on paper they are printed with a little over 8 points
APART = 6.2  # between labels: a millimetre on paper, and some room for what widths are only about
_LETTER = 0.56  # about as wide as a letter is, in its size


def number(value: float) -> str:
    """A number for a machine: at most two decimals, a point, no minus zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def plain_text(text: str) -> str:
    """Text that every renderer draws: pictographs, controls and joiners are left out."""
    return "".join(letter for letter in text if _is_drawn(letter)).strip()


def _is_drawn(letter: str) -> bool:
    kind = unicodedata.category(letter)
    pictograph = (kind in ("So", "Sk") and ord(letter) > 0x2000) or 0xFE00 <= ord(letter) <= 0xFE0F
    return not pictograph and kind not in ("Cc", "Cf", "Cs", "Co", "Cn")


def element(name: str, *inside: str, **attributes: Value) -> str:
    """An element; attribute names take `_` for `-` (a last one is dropped: `class_`); None leaves one out."""
    written = []
    for key, value in attributes.items():
        if value is None:
            continue
        shown = number(value) if isinstance(value, int | float) else value
        written.append(f" {key.rstrip('_').replace('_', '-')}={quoteattr(shown)}")
    body = "".join(inside)
    return f"<{name}{''.join(written)}>{body}</{name}>" if body else f"<{name}{''.join(written)}/>"


def line(d: str, width: float, **attributes: Value) -> str:
    """A path drawn as a line of that width, in the colour of the text around it."""
    return element("path", d=d, stroke="currentColor", stroke_width=width, **attributes)


def words(x: float, y: float, text: str, **attributes: Value) -> str:
    """A line of text at a place; its anchor stands on the text itself."""
    attributes.setdefault("text_anchor", "middle")
    attributes.setdefault("font_size", 12)
    attributes.setdefault("fill", "currentColor")
    return element("text", escape(plain_text(text)), x=x, y=y, **attributes)


def chip(x: float, y: float, text: str, font_size: float = 16) -> str:
    """A word on a small plain ground, readable on any pattern; its middle stands at the place."""
    width, height = 0.58 * font_size * len(plain_text(text)) + 8.0, font_size + 4.0
    return element(
        "g",
        element("rect", x=x - width / 2.0, y=y - height / 2.0, width=width, height=height, rx=3, fill="#fff",
                class_="drawing-backing"),
        words(x, y + 0.34 * font_size, text, font_size=font_size, font_weight="600"),
    )  # fmt: skip


def path_of(points: list[tuple[float, float]], *, closed: bool = False) -> str:
    """Path data through points in order."""
    steps = " ".join(f"{'M' if place == 0 else 'L'}{number(x)} {number(y)}" for place, (x, y) in enumerate(points))
    return f"{steps} Z" if closed and points else steps


def _between(one: Box, other: Box) -> float:
    across, down = max(one[0] - other[2], other[0] - one[2]), max(one[1] - other[3], other[1] - one[3])
    return max(across, down) if min(across, down) <= 0.0 else math.hypot(across, down)


@dataclass(frozen=True, slots=True)
class Ring:
    """Polar places around a centre: angles in degrees clockwise from straight up."""

    x: float
    y: float

    def at(self, angle_deg: float, radius: float) -> tuple[float, float]:
        """The place at that angle and distance from the centre."""
        angle = math.radians(angle_deg)
        return self.x + radius * math.sin(angle), self.y - radius * math.cos(angle)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a label may stand: its anchor's place, and which end of it stands there (start, middle, end)."""

    x: float
    y: float
    anchor: str = "middle"

    def box(self, text: str, font_size: float = LABEL) -> Box:
        """About the room that a label takes: left, top, right, bottom."""
        wide = (_LETTER * len(plain_text(text)) + 0.25) * font_size
        left = self.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[self.anchor]
        return left, self.y - 0.72 * font_size, left + wide, self.y + 0.08 * font_size


@dataclass(slots=True)
class Canvas:
    """A drawing in the making: its key (kept unique on a page), size, and pieces in order of painting.

    `taken`: the room of its labels; each keeps a millimetre from the others where one of its places lets it.
    """

    key: str
    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    pieces: list[str] = field(default_factory=list)
    definitions: list[str] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)

    def room(self, box: Box) -> float:
        """How far a box is from the nearest label; below 0 it lies over one."""
        return min((_between(box, other) for other in self.taken), default=APART)

    def label(self, text: str, *places: Place, bold: bool = False, ground: bool = False) -> None:
        """Write a label at the first of its places that is clear of the others, else at the clearest.

        `ground`: on a small plain ground, for a place with a pattern.
        """
        place = next((one for one in places if self.room(one.box(text)) >= APART), None)
        place = place or max(places, key=lambda one: self.room(one.box(text)))
        self.taken.append(place.box(text))
        if ground:
            self.add(chip(place.x, place.y - 0.34 * LABEL, text, LABEL))
            return
        weight = "600" if bold else None
        self.add(words(place.x, place.y, text, text_anchor=place.anchor, font_size=LABEL, font_weight=weight))

    def add(self, *pieces: str) -> None:
        """Paint pieces on top of what is there."""
        self.pieces.extend(pieces)

    def finished(self, title: str, description: str, class_: str) -> str:
        """The whole drawing with its text alternative."""
        title_id, description_id = f"{self.key}-title", f"{self.key}-desc"
        return element(
            "svg",
            element("title", escape(plain_text(title)), id=title_id),
            element("desc", escape(plain_text(description)), id=description_id),
            element("defs", *self.definitions) if self.definitions else "",
            *self.pieces,
            xmlns="http://www.w3.org/2000/svg",
            viewBox=f"{number(self.left)} {number(self.top)} {number(self.width)} {number(self.height)}",
            width=self.width,
            height=self.height,
            class_=f"drawing {class_}",
            role="img",
            aria_labelledby=f"{title_id} {description_id}",
            fill="none",
            stroke_linejoin="round",
            font_family="'Source Sans Pro', 'Noto Sans', sans-serif",
        )
