"""The planner's own rules with a switch for each: finds the few that cannot hold together."""

from dataclasses import dataclass
from typing import Any

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.model.open_space import fixed_draft, open_space
from trips.core.rota.model.rules import switched_model
from trips.core.rota.problem.values import Problem


@dataclass(frozen=True, slots=True)
class RuleModel:
    """A model of some sessions. `switches`: the literal of each rule that may be left out, with its reason.

    `size`: how many choices of people in sessions it has.
    """

    model: Any
    switches: tuple[tuple[Any, Reason], ...]
    size: int


def build(problem: Problem, sessions: tuple[int, ...], *, all_states: bool) -> RuleModel:
    """Model these sessions. With `all_states` closed hides and barred people are rules too, else facts."""
    space = open_space(problem, all_states=all_states)
    model = switched_model(space, fixed_draft(space), sessions)
    switches = tuple((literal, Reason(*rule)) for rule, literal in model.switches.items())
    return RuleModel(model.cp, switches, len(model.terms))
