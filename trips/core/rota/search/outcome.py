"""What a run of the planner hands back, and what it tells while it runs."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from trips.core.rota.problem.values import Plan

OPTIMAL = "optimal"  # every stage proved
FEASIBLE = "feasible"  # a plan that keeps every rule; better ones may exist
STOPPED_EARLY = "stopped_early"  # cancelled or out of time: the best plan so far, if there is one
IMPOSSIBLE = "impossible"  # proved: no plan keeps every rule
NOTHING_FOUND = "nothing_found"  # no plan found, none ruled out
DEFAULT_EFFORT = 10  # the number stored for a normal search
_QUICK_EFFORT, _NORMAL_EFFORT = 5, 20  # the most that was once quick, and usual; more was thorough


class SearchTime(StrEnum):
    """How long to search, on two idle cores: about 5 seconds; up to about a minute; until it is proved or stopped."""

    QUICK = "quick"
    NORMAL = "normal"
    THOROUGH = "thorough"

    @classmethod
    def of_effort(cls, effort: int) -> Self:
        """What a number of effort (1 or more; 0: not stated) stands for, as it was stored and asked for once."""
        if 0 < effort <= _QUICK_EFFORT:
            return cls("quick")
        return cls("normal" if effort <= _NORMAL_EFFORT else "thorough")


@dataclass(frozen=True, slots=True)
class StageResult:
    """One wish as it ended.

    `value`: in the plan handed back. `best`: the best that the stage itself found; later wishes may have spent part
    of it within the tolerance. `bound`: no plan that honours the earlier wishes does better; None: not looked for.
    `upwards`: high is good.
    """

    name: str
    value: float
    best: float
    bound: float | None
    proved: bool
    upwards: bool


@dataclass(frozen=True, slots=True)
class Trade:
    """What an earlier wish gave up for a later one: it has `kept` instead of `possible`, the other `gained` instead of
    `without`.

    `gave`, `got`: the names of the two stages. Both values were found, neither need be proved.
    """

    gave: str
    possible: float
    kept: float
    got: str
    without: float
    gained: float


@dataclass(frozen=True, slots=True)
class Progress:
    """A sign of life: the stage under way, the worst share (0-1) of the best plan so far, and its bound."""

    stage: str
    worst_share: float
    bound: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """The end of a run. Unless stopped early, all but `seconds` depends on problem, seed and search time alone."""

    status: str
    plan: Plan | None = None
    worst_share: float = 0.0
    bound: float = 1.0
    total_of_shares: float = 0.0
    shares: tuple[float, ...] = ()
    pairs_met: int = 0
    stages: tuple[StageResult, ...] = ()
    trades: tuple[Trade, ...] = ()
    seconds: float = 0.0
    seconds_to_first_plan: float | None = None
