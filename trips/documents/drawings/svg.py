"""Pieces of an SVG drawing: elements with escaped text and plain numbers, nothing a strict page policy refuses.

No style attributes, no style sheets, no scripts: classes for pages, presentation attributes for paper. Numbers for
machines always have a point. `text-anchor` stands on each text, never on the root.
"""

import math
import unicodedata
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

Value = str | float | int | None


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


@dataclass(frozen=True, slots=True)
class Ring:
    """Polar places around a centre: angles in degrees clockwise from straight up."""

    x: float
    y: float

    def at(self, angle_deg: float, radius: float) -> tuple[float, float]:
        """The place at that angle and distance from the centre."""
        angle = math.radians(angle_deg)
        return self.x + radius * math.sin(angle), self.y - radius * math.cos(angle)


@dataclass(slots=True)
class Canvas:
    """A drawing in the making: its key (kept unique on a page), size, and pieces in order of painting."""

    key: str
    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    pieces: list[str] = field(default_factory=list)
    definitions: list[str] = field(default_factory=list)

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
