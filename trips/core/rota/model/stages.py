"""The wishes in lexicographic order, and what a later one may cost an earlier one."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from trips.core.rota.model.group_wishes import BurdenExcess, DemandExcess, PairsMet, WithoutTurn, able_for
from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.share_wishes import NextWorst, TotalOfShares, WorstShare
from trips.core.rota.model.space import Draft, Space
from trips.core.rota.model.wishes import (
    Changes,
    GuestsWithout,
    LeaderSeats,
    Rests,
    RestsRepeated,
    RotaWish,
    SeatChanges,
)
from trips.core.rota.problem.values import Problem

_A_FEW_MORE = 2  # changes that a repair may make beyond the fewest: one exchange of two people
# Shares of the work. Counts are mostly proved in little of it. The worst share gets most, as people feel it most and
# large rotas can always use more; the total and the pairs get half of that.
_COUNT, _CHANGES, _WORST, _TOTAL, _PAIRS = 0.05, 0.1, 0.6, 0.3, 0.3
_MOST_WEIGHT = 2**24  # of one step of the draw: CP-SAT's LP works in doubles with a tolerance of about 1e-7 of that


@dataclass(frozen=True, slots=True)
class Stage:
    """A wish with its share of the whole work, and how much of its best a later wish may spend.

    `tolerance`: as a share of the value. `more`: in whole units, on top. `breaks_ties`: of the wish before it, so this
    one may spend nothing at all.
    """

    wish: RotaWish
    work_share: float
    tolerance: float = 0.0
    more: int = 0
    breaks_ties: bool = False

    def limit(self, best: int) -> int:
        """The worst value that later wishes have to leave; counts are rounded in favour of this one."""
        give = self.more + int(abs(best) * self.tolerance)
        return best - give if self.wish.upwards else best + give


def stages_for(problem: Problem, seed: int) -> Iterator[Stage]:
    """The stages of a problem, in the order in which they are wanted."""
    some_rest = any(problem.rests(session) for session in range(len(problem.sessions)))
    if some_rest:
        yield Stage(Rests(), _COUNT)
        yield Stage(RestsRepeated(), _COUNT)
    if problem.issued is not None and problem.repair in ("fewest", "few"):
        more = _A_FEW_MORE if problem.repair == "few" else 0
        yield Stage(Changes(), _CHANGES, more=more)
        yield Stage(SeatChanges(), _COUNT, breaks_ties=True)
    if problem.leader == "coaching":
        yield Stage(LeaderSeats(), _COUNT)
    if problem.in_demand:
        yield Stage(WithoutTurn(), _COUNT)
        yield Stage(DemandExcess(), _COUNT, problem.tolerance)
        draws = draw_steps(problem, seed)
        yield from (Stage(draw, _COUNT / len(draws)) for draw in draws)
    yield Stage(WorstShare(), _WORST, problem.tolerance)
    yield Stage(TotalOfShares(), _TOTAL, problem.tolerance)
    yield Stage(NextWorst(), _COUNT, problem.tolerance, breaks_ties=True)
    if problem.guests:
        yield Stage(GuestsWithout(), _COUNT)
    if problem.burdens:
        yield Stage(BurdenExcess(), _COUNT, problem.tolerance)
    if problem.want_mixing:
        yield Stage(PairsMet(), _PAIRS, problem.tolerance)


class Draw(RotaWish):
    """Who goes without a turn in a sought-after hide: those who are owed one last, the rest in the order of the draw.

    `weights[person, hide]`: a lexicographic order as a weighted sum. Each rank weighs more than all ranks after it
    together; a rank holds one person's hides of one kind, owed or not.
    """

    name = "draw"

    def __init__(self, weights: dict[tuple[int, int], int], *, is_last: bool = True) -> None:
        self.weights, self.is_last = weights, is_last

    def _able(self, space: Space) -> list[tuple[tuple[int, int], int]]:
        able = {hide: set(able_for(space, hide)) for hide in space.problem.in_demand}
        return [(cell, weight) for cell, weight in self.weights.items() if cell[0] in able[cell[1]]]

    def value(self, space: Space, draft: Draft) -> int:
        """The weight of all who go without."""
        return sum(weight for (person, hide), weight in self._able(space) if hide not in draft.cells[person])

    def express(self, model: RotaModel) -> Any:
        """The weight of all who go without."""
        lacking, weights = [], []
        for (person, hide), weight in self._able(model.space):
            visits = model.visits(person, hide)
            if not any(isinstance(term, int) for term in visits):
                lacking.append(model.cp.new_bool_var(""))
                weights.append(weight)
                model.cp.add(model.expr.sum([*visits, lacking[-1]]) >= 1)
        return model.expr.weighted_sum(lacking, weights)


def draw_steps(problem: Problem, seed: int) -> list[Draw]:
    """The draw in as few steps as its weights allow, the first one first.

    Doubling weights of 40 people and three hides would need 80 bits, and CP-SAT has 63; so a step takes as many ranks
    as fit, and the next one begins once that step is held.
    """
    steps, first = [], 0
    ranks = _ranks(problem, seed)
    while first < len(ranks):
        sums = accumulate(ranks[first:], lambda total, rank: total + len(rank) * (total + 1), initial=0)
        fitting = sum(total <= _MOST_WEIGHT for total in sums) - 1
        last = first + max(1, fitting)
        steps.append(Draw(_weights(ranks[first:last]), is_last=last == len(ranks)))
        first = last
    return steps


def _ranks(problem: Problem, seed: int) -> list[list[tuple[int, int]]]:
    """(person, hide) in the order in which nobody should go without: who is owed one first, then as drawn."""
    order = list(range(len(problem.people)))
    random.Random(f"{seed} draw").shuffle(order)
    drawn = [[(person, hide) for hide in sorted(set(problem.in_demand))] for person in reversed(order)]
    owed = [[cell for cell in cells if cell in problem.owed] for cells in drawn]
    others = [[cell for cell in cells if cell not in problem.owed] for cells in drawn]
    return [cells for cells in owed + others if cells]


def _weights(ranks: list[list[tuple[int, int]]]) -> dict[tuple[int, int], int]:
    """Each rank's cells weigh one more than all later ranks together."""
    weights: dict[tuple[int, int], int] = {}
    below = 0
    for rank in reversed(ranks):
        weights |= dict.fromkeys(rank, below + 1)
        below += len(rank) * (below + 1)
    return weights
