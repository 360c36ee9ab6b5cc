"""The judge of every rota: reads a problem and a plan, uses no solver, trusts no number it did not count itself."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import isfinite

from trips.core.rota.check import hides, people
from trips.core.rota.check.seating import Fault, Seating, seating_of
from trips.core.rota.check.tallies import Tallies, tallies
from trips.core.rota.problem.values import Plan, Problem

# How far a stated number may be from the counted one, as a share of it above 1: far above what adding floats in another
# order changes (1e-12), far below the hundredths in which shares are told.
PRECISION = 1e-6

RULES: tuple[Callable[[Seating], Iterable[Fault]], ...] = (*people.RULES, *hides.RULES)


@dataclass(frozen=True, slots=True)
class Bound:
    """A stage's value and its bound; `upwards`: the stage wants a high value, so the bound may not be below it."""

    stage: str
    value: float
    bound: float
    upwards: bool = True


@dataclass(frozen=True, slots=True)
class Stated:
    """What a rota says of itself. None or empty: not stated.

    `counts`: names of `Tallies` (rests_repeated, without_turn, demand_excess, burden_excess, leader_seats, pairs_met)
    with their numbers, and `rests`, `changes`, `seat_changes` with how many there are.
    """

    points: tuple[float, ...] = ()
    shares: tuple[float, ...] = ()
    worst_share: float | None = None
    total_of_shares: float | None = None
    counts: tuple[tuple[str, float], ...] = ()
    bounds: tuple[Bound, ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """The faults found and, where every index is known, the tallies."""

    faults: tuple[Fault, ...]
    tallies: Tallies | None

    @property
    def is_sound(self) -> bool:
        """Whether the plan may be saved, issued and printed."""
        return not self.faults


def check(problem: Problem, plan: Plan, stated: Stated | None = None) -> Verdict:
    """Judge a plan and, where given, what it states of itself."""
    seating = seating_of(problem, plan)
    unknown = tuple(people.known_names(seating))
    if unknown:
        return Verdict(unknown, None)
    faults = [fault for rule in RULES for fault in rule(seating)]
    # A seat that the hide does not have is an unknown index too: such a plan is not counted.
    if any(fault.rule == "seat_unknown" for fault in faults):
        return Verdict(tuple(faults), None)
    counted = tallies(problem, plan)
    if stated is not None:
        faults += _false_statements(stated, counted)
    return Verdict(tuple(faults), counted)


def _false_statements(stated: Stated, counted: Tallies) -> list[Fault]:
    faults = []
    for name in ("points", "shares"):
        given, own = getattr(stated, name), getattr(counted, name)
        if given and (len(given) != len(own) or not all(map(_close, given, own))):
            wrong = tuple(i for i, pair in enumerate(zip(given, own, strict=False)) if not _close(*pair))
            faults.append(Fault(f"stated_{name}", wrong))
    for name in ("worst_share", "total_of_shares"):
        value = getattr(stated, name)
        if value is not None and not _close(value, getattr(counted, name)):
            faults.append(_false_number(name, value, getattr(counted, name)))
    for name, value in stated.counts:
        own = _count(counted, name)
        if own is None or not _close(value, own):
            faults.append(_false_number(name, value, own if own is not None else float("nan")))
    return faults + [fault for bound in stated.bounds for fault in _bound_faults(bound, counted)]


def _bound_faults(bound: Bound, counted: Tallies) -> list[Fault]:
    own = _count(counted, bound.stage)
    value = bound.value if own is None else own
    short = bound.bound < value - PRECISION if bound.upwards else bound.bound > value + PRECISION
    faults = []
    if short or not isfinite(bound.value) or bound.bound != bound.bound:
        faults.append(Fault("bound", figures=(("value", value), ("bound", bound.bound))))
    if own is not None and not _close(bound.value, own):
        faults.append(_false_number(bound.stage, bound.value, own))
    return faults


def _count(counted: Tallies, name: str) -> float | None:
    if name in ("changes", "seat_changes"):
        return len(getattr(counted, name))
    if name == "rests":
        return sum(counted.rests)
    value = getattr(counted, name, None)
    return float(value) if isinstance(value, int | float) else None


def _false_number(name: str, value: float, own: float) -> Fault:
    return Fault(f"stated_{name}", figures=(("stated", value), ("counted", own)))


def _close(one: float, other: float) -> bool:
    return abs(one - other) <= PRECISION * max(1.0, abs(other))
