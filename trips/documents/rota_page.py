"""What a rota's page says of how it was made, and whom each has sat with."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

COLUMN_LETTERS = 10  # of a name in a column of the rota
DRAW = "draw"  # the planner's name of a step of the draw; a large trip has several


@dataclass(frozen=True, slots=True)
class StageLine:
    """A wish of the planner as it ended; `value` and `bound` are None where the figures say nothing to a reader."""

    name: str
    value: float | None
    bound: float | None
    proved: bool


def stage_lines(stages: Sequence[Mapping[str, Any]]) -> tuple[StageLine, ...]:
    """The stages that a rota keeps, in their order; the steps of the draw are one line, as their weights are ranks."""
    draw_proved = all(stage["proved"] for stage in stages if stage["name"] == DRAW)
    lines: dict[str, StageLine] = {}
    for stage in stages:
        name = stage["name"]
        if name == DRAW:
            lines[name] = StageLine(name, None, None, draw_proved)
        else:
            lines[name] = StageLine(name, stage["value"], stage["bound"], stage["proved"])
    return tuple(lines.values())


def short_names(names: Iterable[str]) -> dict[str, str]:
    """By full name: the first word of it, where no other name begins with that word and it is no abbreviation."""
    firsts = {name: (name.split() or [""])[0] for name in names}
    used = Counter(firsts.values())
    return {name: name if used[first] > 1 or first.endswith(".") else first for name, first in firsts.items()}


def short_hides(names: Iterable[str]) -> dict[str, str]:
    """By name of a hide what fits a narrow column: the whole name, or its first word where the name is long."""
    names = list(names)
    return {name: name if len(name) <= COLUMN_LETTERS else short for name, short in short_names(names).items()}


def worth_step(points: float) -> int:
    """The worth of a turn to its person in five steps, from its points of 100: 1 below 20, 5 from 80."""
    return 1 + max(0, min(4, int(points // 20)))


def company_of(turns: list[tuple[int, int, int]]) -> dict[int, tuple[int, ...]]:
    """Whom each has sat with, from (session, hide, who), each by a key."""
    together: dict[tuple[int, int], list[int]] = {}
    for session, hide, who in turns:
        together.setdefault((session, hide), []).append(who)
    met: dict[int, set[int]] = {}
    for people in together.values():
        for one in people:
            met.setdefault(one, set()).update(other for other in people if other != one)
    return {who: tuple(sorted(others)) for who, others in met.items()}
