"""A model whose rules can be switched off one by one: its variables, its switches, and what a repair has fixed."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.problem.presence import Fixed
from trips.core.rota.problem.values import Problem

Key = tuple[int, int, int]


@dataclass
class RuleModel:
    """A model of some sessions. `switches`: the literal of each rule that may be left out, with its reason."""

    problem: Problem
    fixed: Fixed
    sessions: tuple[int, ...]
    model: Any
    sits: dict[Key, Any] = field(default_factory=dict)
    opened: dict[tuple[int, int], Any] = field(default_factory=dict)
    resting: dict[tuple[int, int], Any] = field(default_factory=dict)
    switches: list[tuple[Any, Reason]] = field(default_factory=list)
    all_states: bool = True

    def switch(self, reason: Reason) -> Any:
        """A new literal that holds exactly when that rule does."""
        literal = self.model.new_bool_var("")
        self.switches.append((literal, reason))
        return literal

    def in_hide(self, person: int, session: int, hide: int) -> Any:
        """The variable of a seat; 1 or 0 where that is fixed, and 0 where there is none."""
        settled = self.fixed.hide_of(person, session)
        return self.sits.get((person, session, hide), 0) if settled is None else int(settled == hide)

    def to_seat(self, session: int) -> list[int]:
        """The people present whom no car has taken away."""
        return [person for person in self.problem.present(session) if self.fixed.hide_of(person, session) is None]

    def needing(self, session: int) -> list[int]:
        """Those of them who need a turn or a rest: all but guests."""
        return [person for person in self.to_seat(session) if person not in self.problem.guests]

    @cached_property
    def stays(self) -> frozenset[Key]:
        """(person, session, hide) of stays through a break: asked for, and begun."""
        begun = (turn for turn in self.fixed.turns.values() if turn.stays)
        return self.problem.stays | {(turn.person, turn.session, turn.hide) for turn in begun}
