"""Points and fair shares as the checker counts them: from the definitions in words, without the planner's code.

Sums are correctly rounded (`math.fsum`), so that no order of adding can hide a difference.
"""

from collections import Counter
from math import fsum

from trips.core.rota.check.visits import Visit
from trips.core.rota.problem.values import Problem

HALF = 0.5  # a seat handed over gives each of the two half its points


def visit_fees(problem: Problem, person: int, hide: int, visits: int) -> list[float]:
    """Points that the 1st, 2nd ... visit costs: a share of the person's mean points there.

    The mean runs over the sessions in which the hide is open, whether or not the person is there and able to sit.
    """
    losses = problem.visit_loss
    if (person, hide) in problem.no_loss or not losses:
        return [0.0] * visits
    values = [row[hide] for session, row in enumerate(problem.points[person]) if (session, hide) not in problem.closed]
    mean = fsum(values) / len(values) if values else 0.0
    padded = [*losses[:visits], *([losses[-1]] * (visits - len(losses)))]
    return [loss * mean for loss in padded]


def count_points(problem: Problem, person: int, visits: tuple[Visit, ...]) -> float:
    """One person's points: what the turns are worth, less what the visits to each hide cost."""
    worth = [
        problem.points[person][turn.session][turn.hide] * (HALF if turn.part else 1.0)
        for visit in visits
        for turn in visit
    ]
    number = Counter(visit[0].hide for visit in visits)
    fees = [fee for hide, times in number.items() for fee in visit_fees(problem, person, hide, times)]
    return fsum([*worth, *(-fee for fee in fees)])


def fair_shares(points: tuple[float, ...], best: tuple[float, ...], guests: frozenset[int]) -> tuple[float, ...]:
    """Points divided by the best alone, for each person; 1 for guests and for who could get nothing."""
    return tuple(
        own / most if most > 0 and person not in guests else 1.0
        for person, (own, most) in enumerate(zip(points, best, strict=True))
    )


def worst_share(shares: tuple[float, ...], best: tuple[float, ...], guests: frozenset[int]) -> float:
    """The smallest share among those who photograph and could get anything; 1 when there are none."""
    counted = (share for person, share in enumerate(shares) if best[person] > 0 and person not in guests)
    return min(counted, default=1.0)
