"""A plot of a run of the planner: the lowest fair share found and the best possible, drawing together over time."""

from collections.abc import Sequence

from trips.documents.drawings.svg import Canvas, element, line, number, path_of, words

Step = Sequence[float]  # seconds since the run began, lowest fair share found (0-1), best possible (0-1)
_LEFT, _TOP, _WIDTH, _HEIGHT = 44.0, 12.0, 310.0, 106.0
_LEAST_SPAN = 0.02  # of a share: a smaller gap would look like a large one
_BELOW = 0.15  # of a share: the first plans may lie so far below the end that nothing else could be told apart
_LINE = 13.0  # between two lines of text


def closing_drawing(steps: Sequence[Step], seconds: float, key: str = "closing") -> str:
    """Both values as steps from the first plan on to `seconds`; what lies between them is the gap.

    Values far below what was found in the end lie on the lower edge.
    """
    canvas = Canvas(key, 480.0, 146.0)
    low = max(steps[-1][1] - _BELOW, min(step[1] for step in steps))
    high = max(low + _LEAST_SPAN, *(step[2] for step in steps))
    end = max(seconds, steps[-1][0], 1.0)

    def place(second: float, share: float) -> tuple[float, float]:
        x = _LEFT + second / end * _WIDTH
        return x, _TOP + (high - max(share, low)) / (high - low) * _HEIGHT

    found, possible = ([place(*one) for one in _stairs(steps, column, end)] for column in (1, 2))
    canvas.add(
        element("rect", x=_LEFT, y=_TOP, width=_WIDTH, height=_HEIGHT, stroke="currentColor", stroke_width=0.6,
                stroke_opacity=0.5),
        element("path", d=path_of([*found, *reversed(possible)], closed=True), fill="currentColor", fill_opacity=0.12),
        line(path_of(possible), 2, stroke_dasharray="6 4"),
        line(path_of(found), 2.4),
    )  # fmt: skip
    for share in (low, high):
        canvas.add(words(_LEFT - 5.0, place(0.0, share)[1] + 4.0, f"{share:.2f}", text_anchor="end", font_size=11))
    for second, anchor in ((0.0, "start"), (end, "end")):
        x, y = place(second, low)[0], _TOP + _HEIGHT + 16.0
        canvas.add(words(x, y, f"{number(round(second))} s", text_anchor=anchor, font_size=11))
    right, above, last = _LEFT + _WIDTH + 7.0, possible[-1][1] + 4.0, steps[-1]
    below = max(found[-1][1] + 4.0, above + _LINE)
    canvas.add(
        words(right, above, f"possible {last[2]:.3f}", text_anchor="start", font_size=12),
        words(right, below, f"found {last[1]:.3f}", text_anchor="start", font_size=12),
    )
    told = f"After {seconds:.0f} s: found {last[1]:.3f}, best possible {last[2]:.3f}."
    return canvas.finished("How near the rota is to the best possible", told, "drawing-closing")


def _stairs(steps: Sequence[Step], column: int, end: float) -> list[tuple[float, float]]:
    """A value as stairs: it holds until the next step."""
    found = [(steps[0][0], steps[0][column])]
    for step in steps[1:]:
        found += [(step[0], found[-1][1]), (step[0], step[column])]
    return [*found, (end, found[-1][1])]
