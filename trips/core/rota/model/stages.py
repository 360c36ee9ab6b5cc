"""The wishes in their order, and what a later one may cost an earlier one."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from trips.core.rota.model.group_wishes import BurdenExcess, DemandExcess, PairsMet, WithoutTurn, able_for
from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.share_wishes import NextWorst, TotalOfShares, WorstShare
from trips.core.rota.model.space import Draft, Space
from trips.core.rota.model.wishes import Changes, GuestsWithout, LeaderSeats, Rests, RestsRepeated, SeatChanges, Wish
from trips.core.rota.problem.values import Problem

_A_FEW_MORE = 2


@dataclass(frozen=True, slots=True)
class Stage:
    """A wish with its share of the whole work, and how much of its best a later wish may spend.

    `spare`: in whole units, added to the limit; `tolerance`: as a share of the value. `tie`: the next wish only breaks
    ties of this one, so it may spend nothing; those after it may.
    """

    wish: Wish
    weight: float
    tolerance: float = 0.0
    spare: int = 0
    tie: bool = False

    def limit(self, best: int) -> int:
        """The worst value that later wishes have to leave; counts are rounded in favour of this one."""
        give = self.spare + int(abs(best) * self.tolerance)
        return best - give if self.wish.upwards else best + give


def stages_for(problem: Problem, seed: int) -> Iterator[Stage]:
    """The stages of a problem, in the order in which they are wanted."""
    some_rest = any(problem.rests(session) for session in range(len(problem.sessions)))
    if some_rest:
        yield Stage(Rests(), 0.05)
        yield Stage(RestsRepeated(), 0.05)
    if problem.issued is not None and problem.repair in ("fewest", "few"):
        yield Stage(Changes(), 0.1, spare=_A_FEW_MORE if problem.repair == "few" else 0, tie=True)
        yield Stage(SeatChanges(), 0.05)
    if problem.leader == "coaching":
        yield Stage(LeaderSeats(), 0.05)
    if problem.in_demand:
        yield Stage(WithoutTurn(), 0.05)
        yield Stage(DemandExcess(), 0.05, problem.tolerance)
        yield Stage(Draw(seed), 0.05)
    yield Stage(WorstShare(), 0.6, problem.tolerance)
    yield Stage(TotalOfShares(), 0.3, problem.tolerance, tie=True)
    yield Stage(NextWorst(), 0.05, problem.tolerance)
    if problem.guests:
        yield Stage(GuestsWithout(), 0.05)
    if problem.burdens:
        yield Stage(BurdenExcess(), 0.05, problem.tolerance)
    if problem.want_mixing:
        yield Stage(PairsMet(), 0.3, problem.tolerance)


class Draw(Wish):
    """Who goes without a turn in a hide in demand: those who are owed one last, the rest by the seed's order."""

    name = "draw"

    def __init__(self, seed: int) -> None:
        self.seed = seed

    def weights(self, space: Space) -> dict[tuple[int, int], int]:
        """(person, hide) -> how much it weighs that the person goes without."""
        order = list(range(space.people))
        random.Random(f"{self.seed} draw").shuffle(order)
        owed = space.problem.owed
        return {
            (person, hide): order.index(person) + (space.people**2 if (person, hide) in owed else 0)
            for hide in space.problem.in_demand
            for person in able_for(space, hide)
        }

    def value(self, space: Space, draft: Draft) -> int:
        """The weight of all who go without."""
        return sum(weight for (p, hide), weight in self.weights(space).items() if hide not in draft.cells[p])

    def express(self, model: RotaModel) -> Any:
        """The weight of all who go without."""
        lacking, weights = [], []
        for (person, hide), weight in self.weights(model.space).items():
            visits = model.visits(person, hide)
            if not any(isinstance(term, int) for term in visits):
                lacking.append(model.cp.new_bool_var(""))
                weights.append(weight)
                model.cp.add(model.expr.sum([*visits, lacking[-1]]) >= 1)
        return model.expr.weighted_sum(lacking, weights)
