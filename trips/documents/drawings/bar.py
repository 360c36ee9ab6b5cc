"""The light of a hide in a session as a bar of time, for a cell of a table; the same stands beside it in words."""

from datetime import datetime

from trips.core.light import Interval, SessionLight
from trips.documents.drawings.svg import element, line, number

WIDTH, HEIGHT = 132.0, 18.0
_MIDDLE = HEIGHT / 2.0
# Told apart without colour: front is full, side broken, back dotted, top low, soft thin; no bar: no sun on the perch.
_STROKES: dict[str, tuple[float, str | None]] = {
    "front": (12.0, None),
    "side": (12.0, "4 2"),
    "back": (12.0, "1.5 3"),
    "top": (5.0, None),
    "soft": (2.5, "7 2"),
}


def light_bar(light: SessionLight, best: Interval) -> str:
    """The session from left to right by class of light, and `best`, the stretch that counts, in a frame."""
    starts_at, ends_at = light.session.starts_at, light.session.ends_at
    seconds = (ends_at - starts_at).total_seconds()

    def place(moment: datetime) -> float:
        return WIDTH * (moment - starts_at).total_seconds() / seconds

    pieces = [line(f"M0 {number(_MIDDLE)} H{number(WIDTH)}", 1, stroke_opacity=0.4)]
    for one in light.best_view.on_perch:
        if one.name in _STROKES:
            pieces.append(_stroke(one.name, place(one.starts_at), place(one.ends_at)))
    left, right = place(best.starts_at) + 1.0, place(best.ends_at) - 1.0
    pieces.append(_frame(left, max(right - left, 1.0)))
    return _drawn(WIDTH, pieces)


def light_sample(name: str) -> str:
    """A short bar of one class, for the legend; "best" is the frame."""
    if name == "best":
        return _drawn(30.0, [_frame(1.0, 28.0)])
    return _drawn(30.0, [_stroke(name, 0.0, 30.0)])


def _frame(left: float, width: float) -> str:
    return element("rect", x=left, y=1, width=width, height=HEIGHT - 2.0, rx=2, stroke="currentColor", stroke_width=1.5)


def _stroke(name: str, left: float, right: float) -> str:
    width, dashes = _STROKES[name]
    path = f"M{number(left)} {number(_MIDDLE)} H{number(right)}"
    return line(path, width, stroke_dasharray=dashes, class_=f"light-bar-{name}")


def _drawn(width: float, pieces: list[str]) -> str:
    return element(
        "svg",
        *pieces,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(HEIGHT)}",
        width=width,
        height=HEIGHT,
        class_="light-bar",
        aria_hidden="true",
        fill="none",
    )
