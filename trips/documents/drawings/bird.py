"""A small bird on a stump: the subject at the top of the seat's drawing."""

from trips.documents.drawings.svg import element, number

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
        element("path", d=_LEGS, stroke="currentColor", stroke_width=1.2),
        element("path", d=_STUMP, stroke="currentColor", stroke_width=3, stroke_linecap="round"),
        class_="drawing-bird",
        transform=f"translate({number(x)} {number(y)})",
    )
