"""The most points each person could get alone, as the checker counts them.

Cancelling of improving cycles (Klein 1967) on the residual graph of hides: from any assignment of sessions to hides,
move sessions around a cycle of hides as long as that gains. The planner uses another method, so that each watches
the other.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import fsum

import numpy as np
from numpy.typing import NDArray

from trips.core.rota.check.fair_shares import visit_fees
from trips.core.rota.problem.values import Problem

Whole = NDArray[np.int64]
# Gains are whole numbers of 2^-40 points: sums are exact, so every cancelled cycle is a true gain and the search ends.
# The result is at most sessions x 2^-40 points below the best: 2e-11 for 24 sessions.
FINEST_BITS = 40
WORD_BITS = 60  # what the sums along a walk may take of a 64-bit word, twice over
NEVER = np.int64(-(2**62))  # an edge that is not there: below 0 also after any gain is added


@lru_cache(maxsize=8)  # a page judges several plans of one problem
def best_alone(problem: Problem) -> tuple[float, ...]:
    """The most points each person could get with the trip to themselves; as issued where the problem says so.

    Presence, hides in use, reach, limits, own pins and the limit of visits hold; other people, seats, minimum, "twice
    running" and joined sessions do not. As many sessions as can be have a turn where no rest is allowed; elsewhere a
    turn is left out where its visit costs more than it brings.
    """
    if problem.best_alone is not None:
        return problem.best_alone
    return tuple(_best_of(problem, person) for person in range(len(problem.people)))


def _best_of(problem: Problem, person: int) -> float:
    sessions = [session for session in range(len(problem.sessions)) if (person, session) not in problem.absent]
    if not sessions or not problem.hides:
        return 0.0
    most = len(sessions) if problem.visits_at_most is None else min(problem.visits_at_most, len(sessions))
    # A list of losses that falls is used from its cheapest visit on, as if visits could be taken in any order.
    fees = [sorted(visit_fees(problem, person, hide, most)) for hide in range(len(problem.hides))]
    value = _values(problem, person, sessions)
    residual = _residual(problem, person, sessions, value, np.array(fees).reshape(len(fees), most))
    residual.seat_greedily()
    while cycle := residual.improving_cycle():
        residual.cancel(cycle)
    counts = residual.counts()
    worth = [value[row, hide] for row, hide in enumerate(residual.place) if hide < len(fees)]
    return fsum([*worth, *(-fee for hide, own in enumerate(fees) for fee in own[: counts[hide]])])


def _values(problem: Problem, person: int, sessions: list[int]) -> NDArray[np.float64]:
    """Points [session, hide]; minus infinity where the person cannot sit."""
    pinned = {pin.session: pin.hide for pin in problem.pins if pin.person == person}
    return np.array(
        [
            [
                problem.points[person][session][hide]
                if problem.may_sit(person, session, hide) and pinned.get(session, hide) == hide
                else -np.inf
                for hide in range(len(problem.hides))
            ]
            for session in sessions
        ]
    )


def _residual(
    problem: Problem, person: int, sessions: list[int], value: NDArray[np.float64], fees: NDArray[np.float64]
) -> "_Residual":
    """The numbers of the residual graph, in whole units."""
    finite = np.where(np.isfinite(value), value, 0.0)
    # One session more with a turn outweighs all points there are.
    owed = 1.0 + float(finite.max(axis=1).sum()) + len(sessions) * float(fees.max(initial=0.0))
    nodes = len(problem.hides) + 2
    unit = 2.0 ** min(FINEST_BITS, WORD_BITS - int(np.ceil(np.log2(owed * nodes))))
    pinned = {pin.session for pin in problem.pins if pin.person == person}
    out = [0.0 if problem.rests(session) and session not in pinned else -owed for session in sessions]
    gain = np.where(np.isfinite(value), np.rint(finite * unit).astype(np.int64), NEVER)
    gain = np.column_stack([gain, np.rint(np.array(out) * unit).astype(np.int64)])
    return _Residual(gain, np.rint(fees * unit).astype(np.int64), [len(problem.hides)] * len(sessions))


@dataclass(slots=True)
class _Residual:
    """One person's sessions placed in hides, and the graph of moves that are left.

    `gain` [session, node], `fees` [hide, visit], `place`: the node of each session. Nodes: the hides, then `out`
    (sessions without a turn), then the pool that lends and takes visits back.
    """

    gain: Whole
    fees: Whole
    place: list[int]

    @property
    def out(self) -> int:
        return len(self.fees)

    def counts(self) -> Whole:
        """How many sessions are at each node but the pool."""
        return np.bincount(self.place, minlength=self.out + 1)

    def seat_greedily(self) -> None:
        """Place each session where it gains most as things stand: few cycles are left then."""
        for row, gains in enumerate(self.gain):
            counts = self.counts()
            added = [
                int(gains[hide] - own[counts[hide]]) if counts[hide] < len(own) else int(NEVER)
                for hide, own in enumerate(self.fees)
            ]
            self.place[row] = int(np.argmax([*added, int(gains[self.out])]))

    def improving_cycle(self) -> list[int]:
        """Nodes around which moving one session each gains; empty when there is no such cycle (then all is best).

        Bellman-Ford: the best walks of 1, 2 ... edges; one that still gains with as many edges as nodes has a cycle.
        """
        weight = self._weights()
        reached: Whole = np.zeros(len(weight), dtype=np.int64)
        before: list[NDArray[np.intp]] = []
        for _ in range(len(weight)):
            walks = reached[:, None] + weight
            before.append(walks.argmax(axis=0))
            longer = walks.max(axis=0)
            better = longer > reached
            if not better.any():
                return []
            before[-1][~better] = -1
            reached = np.where(better, longer, reached)
        return _cycle_in(before, int(np.flatnonzero(better)[0]))

    def cancel(self, cycle: list[int]) -> None:
        """Move one session along each edge of a cycle between hides."""
        rows = {
            (start, end): self._mover(start, end)
            for start, end in zip(cycle, [*cycle[1:], cycle[0]], strict=True)
            if max(start, end) <= self.out
        }
        for (_, end), row in rows.items():
            self.place[row] = end

    def _mover(self, start: int, end: int) -> int:
        """The session at `start` that gains most, or loses least, by moving to `end`."""
        rows = [row for row, node in enumerate(self.place) if node == start]
        return max(rows, key=lambda row: int(self.gain[row, end] - self.gain[row, start]))

    def _weights(self) -> Whole:
        """What each edge gains [from, to]; NEVER where nothing can move."""
        pool = self.out + 1
        weight: Whole = np.full((pool + 1, pool + 1), NEVER)
        rows, place, counts = np.arange(len(self.place)), np.array(self.place), self.counts()
        moves = np.where(self.gain == NEVER, NEVER, self.gain - self.gain[rows, place][:, None])
        for node in np.flatnonzero(counts):
            weight[node, :pool] = moves[place == node].max(axis=0)
            weight[node, node] = NEVER
        for hide, own in enumerate(self.fees):
            if counts[hide]:
                weight[pool, hide] = own[counts[hide] - 1]
            if counts[hide] < len(own):
                weight[hide, pool] = -own[counts[hide]]
        weight[pool, self.out] = weight[self.out, pool] = 0
        return weight


def _cycle_in(before: list[NDArray[np.intp]], node: int) -> list[int]:
    """The first cycle met on the way back along a walk that ends in `node`, in the walk's direction."""
    walk = [node]
    for step in reversed(before):
        node = int(step[node])
        if node in walk:
            return walk[walk.index(node) :][::-1]
        walk.append(node)
    raise AssertionError("a walk of as many edges as nodes meets a node twice")
