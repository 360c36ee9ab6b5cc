"""Points, visit losses and fair shares of a plan, for all that plans and explains.

The checker counts them again by its own means (`check/fair_shares`, `check/best_alone`, `check/visits`) and never
reads this module; it needs numpy and nothing heavier.
"""

from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from trips.core.rota.problem.values import LEADER, Plan, Problem, Turn
from trips.core.rota.problem.visits import visits

FloatArray = NDArray[np.float64]
PART_OF_POINTS = 0.5  # two people who hand one seat over get half the hours each
_LEFT_OUT = 1e6  # cost of a session without a turn where no rest is allowed; met only where nothing else is possible


def averages(problem: Problem) -> FloatArray:
    """Mean points [person, hide] over the sessions in which the hide is open; 0 for a hide that never is.

    A person's absence does not matter here, nor that the person cannot sit there.
    """
    people, sessions, hides = len(problem.people), len(problem.sessions), len(problem.hides)
    points = np.array(problem.points, dtype=float).reshape(people, sessions, hides)
    is_open = np.ones((sessions, hides))
    for session, hide in problem.closed:
        is_open[session, hide] = 0.0
    open_sessions = is_open.sum(axis=0)
    total: FloatArray = (points * is_open[None, :, :]).sum(axis=1)
    return total / np.maximum(open_sessions, 1.0)[None, :]


def loss_share(problem: Problem, person: int, hide: int, visit: int) -> float:
    """Share of the person's average there that the visit-th visit (1 = first) costs, 0-1."""
    if (person, hide) in problem.no_loss or not problem.visit_loss:
        return 0.0
    return problem.visit_loss[min(visit, len(problem.visit_loss)) - 1]


def loss_points(problem: Problem, person: int, hide: int, visits: int, average: float) -> float:
    """Points that all `visits` visits of one person to one hide cost together."""
    return sum(loss_share(problem, person, hide, visit) for visit in range(1, visits + 1)) * average


def turns_by_person(problem: Problem, plan: Plan) -> tuple[tuple[Turn, ...], ...]:
    """Each person's turns by session; the leader's are left out."""
    found: list[list[Turn]] = [[] for _ in problem.people]
    for turn in plan.turns:
        if turn.person != LEADER:
            found[turn.person].append(turn)
    return tuple(tuple(sorted(turns, key=lambda turn: turn.session)) for turns in found)


def points_of(problem: Problem, plan: Plan) -> tuple[float, ...]:
    """Points of each person in the plan: the turns' points less the visit losses; half for a part of a seat."""
    average = averages(problem)
    result = []
    for person, turns in enumerate(turns_by_person(problem, plan)):
        total = sum(turn_points(problem, turn) for turn in turns)
        count: dict[int, int] = {}
        for visit in visits(problem, turns):
            count[visit[0].hide] = count.get(visit[0].hide, 0) + 1
        total -= sum(
            loss_points(problem, person, hide, number, float(average[person, hide]))
            for hide, number in sorted(count.items())
        )
        result.append(total)
    return tuple(result)


def turn_points(problem: Problem, turn: Turn) -> float:
    """Points of one turn before any visit loss."""
    value = problem.points[turn.person][turn.session][turn.hide]
    return value * PART_OF_POINTS if turn.part else value


def counts_for_shares(problem: Problem) -> tuple[int, ...]:
    """The people whose shares are compared: those who photograph and could get any points alone."""
    alone = best_alone(problem)
    return tuple(person for person, best in enumerate(alone) if best > 0 and person not in problem.guests)


def shares_of(problem: Problem, plan: Plan) -> tuple[float, ...]:
    """Each person's points divided by the best that person could get alone; 1 for those who are not compared."""
    best, counted = best_alone(problem), set(counts_for_shares(problem))
    return tuple(
        points / best[person] if person in counted else 1.0 for person, points in enumerate(points_of(problem, plan))
    )


def worst_share(problem: Problem, plan: Plan) -> float:
    """The smallest share among those that are compared; 1 when there are none."""
    shares = shares_of(problem, plan)
    return min((shares[person] for person in counts_for_shares(problem)), default=1.0)


def total_of_shares(problem: Problem, plan: Plan) -> float:
    """The sum of everybody's shares (who is not compared counts as 1)."""
    return float(sum(shares_of(problem, plan)))


def pairs_met(plan: Plan) -> int:
    """Pairs of people who sit in the same hide in at least one session; the leader does not count."""
    groups: dict[tuple[int, int], list[int]] = {}
    for turn in plan.turns:
        if turn.person != LEADER:
            groups.setdefault((turn.session, turn.hide), []).append(turn.person)
    return len({pair for group in groups.values() for pair in combinations(sorted(group), 2)})


def best_alone(problem: Problem) -> tuple[float, ...]:
    """The most points each person could get alone; as issued where the problem says so (a repair).

    Presence, hides in use, reach, limits, the person's pins and the visit limit hold; other people, capacity, minimum,
    twice running, sessions in a row and joined sessions do not. Every session gets a turn if any can, save where a
    rest is allowed: there it may be left out when the visit would cost more than it brings. (With joined sessions or a
    stay through a break a share can pass 1, as they count as one visit there but not here.)
    """
    if problem.best_alone is not None:
        return problem.best_alone
    return _best_alone(problem)


@lru_cache(maxsize=16)
def _best_by_id(key: "_ById") -> tuple[float, ...]:
    problem = key.problem
    average = averages(problem)
    return tuple(_best_of_person(problem, person, average[person]) for person in range(len(problem.people)))


class _ById:
    """A problem as a key of the cache: by identity, as hashing all points would cost more than it saves."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem

    def __hash__(self) -> int:
        return id(self.problem)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ById) and other.problem is self.problem


def _best_alone(problem: Problem) -> tuple[float, ...]:
    return _best_by_id(_ById(problem))


def _best_of_person(problem: Problem, person: int, average: FloatArray) -> float:
    """The best assignment of the person's sessions to visits (hide, 1st, 2nd ...), each used once."""
    sessions = [session for session in range(len(problem.sessions)) if (person, session) not in problem.absent]
    if not sessions or not problem.hides:
        return 0.0
    pinned = {pin.session: pin.hide for pin in problem.pins if pin.person == person}
    value = np.full((len(sessions), len(problem.hides)), -np.inf)
    skip = np.zeros(len(sessions))
    for row, session in enumerate(sessions):
        for hide in range(len(problem.hides)):
            if problem.may_sit(person, session, hide) and pinned.get(session, hide) == hide:
                value[row, hide] = problem.points[person][session][hide]
        if session in pinned or not problem.rests(session):
            skip[row] = -_LEFT_OUT
    slots = _visit_slots(problem, person, average, np.isfinite(value).sum(axis=0))
    gain = np.concatenate([value[:, [hide for hide, _ in slots]] - np.array([cost for _, cost in slots])], axis=1)
    gain = np.concatenate([gain, np.repeat(skip[:, None], len(sessions), axis=1)], axis=1)
    chosen = assign(np.where(np.isfinite(gain), -gain, 1e3 * _LEFT_OUT))
    return float(sum(gain[row, column] for row, column in enumerate(chosen) if column < len(slots)))


def _visit_slots(
    problem: Problem, person: int, average: FloatArray, possible: NDArray[np.int_]
) -> list[tuple[int, float]]:
    """Every visit that could be used: (hide, points it costs)."""
    limit = problem.visits_at_most
    return [
        (hide, loss_share(problem, person, hide, visit) * float(average[hide]))
        for hide in range(len(problem.hides))
        for visit in range(1, int(possible[hide] if limit is None else min(limit, possible[hide])) + 1)
    ]


def assign(cost: FloatArray) -> list[int]:
    """The column of each row in an assignment of least total cost; there are at least as many columns as rows.

    Shortest augmenting paths with potentials (Kuhn 1955, Munkres 1957; in the form of Jonker & Volgenant 1987).
    """
    rows, columns = cost.shape
    row_price = np.zeros(rows)
    column_price = np.zeros(columns)
    row_of = np.full(columns, -1)
    for start in range(rows):
        distance = np.full(columns, np.inf)
        before = np.full(columns, -1)
        done = np.zeros(columns, dtype=bool)
        row, column, base = start, -1, 0.0
        while True:
            reach = base + cost[row] - row_price[row] - column_price
            better = ~done & (reach < distance)
            distance[better] = reach[better]
            before[better] = column
            column = int(np.where(done, np.inf, distance).argmin())
            base = float(distance[column])
            if row_of[column] < 0:
                break
            done[column] = True
            row = int(row_of[column])
        row_price[start] += base
        row_price[row_of[done]] += base - distance[done]
        column_price[done] -= base - distance[done]
        while column >= 0:
            previous = int(before[column])
            row_of[column] = start if previous < 0 else row_of[previous]
            column = previous
    result = [0] * rows
    for column, row in enumerate(row_of):
        if row >= 0:
            result[int(row)] = column
    return result
