"""The rota's page as plain values: sessions by hides, people in named seats, and the table of counts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

KIND_HEADS = {"early": "Good mornings", "midday": "Good middays", "late": "Good evenings", "night": "Good nights"}
OPEN_STATES = ("ready", "notice")
DRAW = "draw"  # the planner's name of a step of the draw; a large trip has several


@dataclass(frozen=True, slots=True)
class Seated:
    """Somebody in a seat. `place`: uuid, empty for the leader; `part`: 0 whole, 1, 2 the order of a hand-over."""

    name: str
    seat: str
    place: str = ""
    pinned: bool = False
    stays: bool = False
    part: int = 0

    @property
    def is_leader(self) -> bool:
        """Whether it is the leader."""
        return not self.place


@dataclass(frozen=True, slots=True)
class Cell:
    """One hide in one session. `state`: ready, notice, unavailable or elsewhere (another site); `free`: (uuid, name) of
    the seats that nobody has."""

    hide: str
    hide_name: str
    people: tuple[Seated, ...] = ()
    light: Mapping[str, Any] = field(default_factory=dict)
    state: str = "ready"
    reason: str = ""
    free: tuple[tuple[str, str], ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether people may sit there, with notice or without."""
        return self.state in OPEN_STATES


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One session with its cells in the order of the hides, and who rests (name, reason)."""

    session: str
    name: str
    kind: str
    starts_at: datetime
    ends_at: datetime
    cells: tuple[Cell, ...]
    rests: tuple[tuple[str, str, str], ...] = ()  # name, reason, place


@dataclass(frozen=True, slots=True)
class DayBlock:
    """The sessions that start on one local day."""

    day: date
    sessions: tuple[SessionLine, ...]


@dataclass(frozen=True, slots=True)
class CountsLine:
    """One line of the table of counts; `demand` and `good` are (column, count) in the table's order."""

    name: str
    place: str
    turns: int
    demand: tuple[tuple[str, int], ...]
    good: tuple[tuple[str, int], ...]
    rests: int
    hardships: int
    company: tuple[str, ...]
    leader: int
    share: float
    points: float
    guest: bool = False


@dataclass(frozen=True, slots=True)
class CountsTable:
    """The table of counts: which hides are in demand, which kinds of good turns, and a line a person."""

    demand: tuple[str, ...]
    good: tuple[str, ...]
    lines: tuple[CountsLine, ...]


@dataclass(frozen=True, slots=True)
class StageLine:
    """A wish of the planner as it ended; `value` and `bound` are None where the figures say nothing to a reader."""

    name: str
    value: float | None
    bound: float | None
    proved: bool


@dataclass(frozen=True, slots=True)
class RotaPage:
    """Everything the page of one rota shows."""

    number: int
    state: str
    hides: tuple[tuple[str, str], ...]  # uuid, name
    days: tuple[DayBlock, ...]
    counts: CountsTable
    guarantee: tuple[str, ...]
    made_at: datetime
    stages: tuple[StageLine, ...] = ()
    is_stopped_early: bool = False
    is_changed_by_hand: bool = False


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


def good_heads(kinds: list[str]) -> tuple[str, ...]:
    """The heads of the good turns' columns for the kinds of sessions that a trip has."""
    return tuple(KIND_HEADS[kind] for kind in kinds)
