"""What a run of the planner hands back, and what it tells while it runs."""

from dataclasses import dataclass

from trips.core.rota.problem.values import Plan

OPTIMAL = "optimal"  # every stage proved
FEASIBLE = "feasible"  # a plan that keeps every rule; better ones may exist
STOPPED_EARLY = "stopped_early"  # cancelled or out of time: the best plan so far, if there is one
IMPOSSIBLE = "impossible"  # proved: no plan keeps every rule
NOTHING_FOUND = "nothing_found"  # no plan found, none ruled out
DEFAULT_EFFORT = 10  # a stage gets so many deterministic seconds times its share of the work


@dataclass(frozen=True, slots=True)
class StageResult:
    """One wish as it ended.

    `value`: in the plan handed back. `best`: the best that the stage itself found; later wishes may have spent part
    of it within the tolerance. `bound`: no plan that honours the earlier wishes does better. `upwards`: high is good.
    """

    name: str
    value: float
    best: float
    bound: float
    proved: bool
    upwards: bool


@dataclass(frozen=True, slots=True)
class Progress:
    """A sign of life: the stage under way, the worst share (0-1) of the best plan so far, and its bound."""

    stage: str
    worst_share: float
    bound: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """The end of a run. Everything but `seconds` depends on problem, seed and effort alone, unless stopped early."""

    status: str
    plan: Plan | None = None
    worst_share: float = 0.0
    bound: float = 1.0
    total_of_shares: float = 0.0
    shares: tuple[float, ...] = ()
    pairs_met: int = 0
    stages: tuple[StageResult, ...] = ()
    seconds: float = 0.0
    seconds_to_first_plan: float | None = None
