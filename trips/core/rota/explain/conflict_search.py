"""The planner's own rules with a switch for each: can they hold together, and which few cannot."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.explain.helps import FIRST_OUT
from trips.core.rota.model.open_space import fixed_draft, open_space
from trips.core.rota.model.rules import switched_model
from trips.core.rota.problem.values import Problem

SEED = 1  # fixed, so that the same problem gets the same explanation


@dataclass(frozen=True, slots=True)
class RuleModel:
    """A model of some sessions. `switches`: the literal of each rule that may be left out, with its reason.

    `size`: how many choices of people in sessions it has.
    """

    model: Any
    switches: tuple[tuple[Any, Reason], ...]
    size: int


def build(problem: Problem, sessions: tuple[int, ...], *, all_states: bool) -> RuleModel:
    """Model these sessions. With `all_states` closed hides and who cannot sit there are rules too, else facts."""
    space = open_space(problem, all_states=all_states)
    model = switched_model(space, fixed_draft(space), sessions)
    switches = tuple((literal, Reason(*rule)) for rule, literal in model.switches.items())
    return RuleModel(model.cp, switches, len(model.terms))


@dataclass(slots=True)
class Effort:
    """Deterministic time that is left, in the solver's own units (about a second each)."""

    left: float

    @property
    def is_spent(self) -> bool:
        """Whether nothing is left."""
        return self.left <= 0


@dataclass(frozen=True, slots=True)
class Core:
    """Rules that cannot hold together; `is_minimal`: without any one of them the rest can."""

    reasons: tuple[Reason, ...]
    is_minimal: bool


def find_core(work: RuleModel, effort: Effort) -> Core | Literal[True] | None:
    """The rules in conflict; True where all hold together; None where the effort did not settle it."""
    answer = solve(work, range(len(work.switches)), effort)
    if answer is None or answer is True:
        return answer
    found = [_shrink(work, _ordered(work, answer, turns_first), effort) for turns_first in (False, True)]
    kept, is_minimal = min(found, key=lambda core: (not core[1], len(core[0])))
    return Core(tuple(work.switches[index][1] for index in sorted(kept)), is_minimal)


def _ordered(work: RuleModel, core: Sequence[int], turns_first: bool) -> list[int]:
    def place(index: int) -> tuple[int, int]:
        rule = work.switches[index][1].rule
        return (-1 if turns_first and rule == "turn" else FIRST_OUT.index(rule), index)

    return sorted(core, key=place)


def _shrink(work: RuleModel, core: list[int], effort: Effort) -> tuple[list[int], bool]:
    """Leave out one rule after the other while the rest still cannot hold together."""
    kept, is_minimal = list(core), True
    for index in core:
        if index not in kept:
            continue
        answer = solve(work, [other for other in kept if other != index], effort)
        if answer is None:
            is_minimal = False
        elif answer is not True:
            kept = [other for other in kept if other in set(answer)]
    return kept, is_minimal


def solve(work: RuleModel, switched_on: Sequence[int], effort: Effort) -> list[int] | Literal[True] | None:
    """True when these rules hold together, a sufficient list of them when not, None when the effort ran out."""
    from ortools.sat.python import cp_model

    if effort.is_spent:
        return None
    work.model.clear_assumptions()
    work.model.add_assumptions([work.switches[index][0] for index in switched_on])
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort.left
    status = solver.solve(work.model)
    effort.left -= max(1e-4, float(solver.response_proto.deterministic_time))  # never free, or the search may not end
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return True
    if status != cp_model.INFEASIBLE:
        return None
    by_literal = {work.switches[index][0].index: index for index in switched_on}
    found = [by_literal[literal] for literal in solver.sufficient_assumptions_for_infeasibility()]
    return sorted(found)
