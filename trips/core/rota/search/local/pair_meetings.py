"""Tabu search for pair meetings: swaps and moves within sessions, the way back barred for a while.

In the manner of Dotu & Van Hentenryck (2005), Scheduling social golfers locally; there the groups are
of one size and everybody is free, here every cell that `LocalSearch` may move, as long as shares keep their floors.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trips.core.rota.model.space import Draft, Space
from trips.core.rota.search.local.local_search import Floats, Ints, LocalSearch, Penalty

_NEVER = 1e9  # gain of a move that is barred; pairs are far fewer
_BARRED_COST = 1e29  # a cost of LocalSearch from which on a move is barred there
_TENURE = (2, 12)  # steps for which the way back is barred, at random so that no cycle lasts
_TIE_BREAK = 0.5  # below one pair: moves that gain alike are chosen from at random


@dataclass(frozen=True, slots=True)
class Floors:
    """What shares must keep, in whole numbers: each person's, and their sum."""

    each: int
    total: int


@dataclass(frozen=True, slots=True)
class _Move:
    """The best swap or move found: what it changes, in which session, who goes where."""

    gain: float
    session: int
    goes: tuple[tuple[int, int], ...]


class PairTabuSearch(LocalSearch):
    """A draft with the number of times each pair meets."""

    def __init__(self, space: Space, draft: Draft, floors: Floors, seed: int) -> None:
        super().__init__(space, draft, Penalty(0.0, np.ones(space.people)))
        self.floors = floors
        self.chance = np.random.default_rng(seed)
        self.counts = np.isin(np.arange(space.people), space.counted)
        self.meetings = np.zeros((space.people, space.people))
        for session in range(space.sessions):
            there = self._there(session)
            self.meetings += there @ there.T
        np.fill_diagonal(self.meetings, 0.0)
        self.tabu_until: Ints = np.zeros((space.sessions, space.people, space.hides), dtype=np.int64)
        self.singles = [np.array([int(u[0]) for u in units if len(u) == 1], dtype=np.int64) for units in self.units]

    def _there(self, session: int) -> Floats:
        """[person, hide]: 1 where that person sits."""
        there = np.zeros((self.space.people, self.space.hides))
        row = np.flatnonzero(self.cells[:, session] >= 0)
        there[row, self.cells[row, session]] = 1.0
        return there

    def met(self) -> int:
        """How many pairs meet."""
        return int((self.meetings > 0).sum()) // 2

    def search(self, steps: int, bound: int, allows: Callable[[Draft], bool], ended: Callable[[], bool]) -> Draft:
        """The best draft that `allows` accepts, after so many steps at most; `ended` is asked before each."""
        best, found = self.met(), self.draft
        for turn in range(steps):
            if best >= bound or ended():
                break
            step = self._best_step(turn, best - self.met())
            if step is None:
                break
            self._take(step, turn)
            if self.met() > best and allows(self.result()):
                best, found = self.met(), self.result()
        return found

    def _best_step(self, turn: int, wanted: int) -> _Move | None:
        """The step after which most pairs meet; a barred one only if it beats the best so far (aspiration)."""
        steps = [
            self._best_in(session, turn, wanted)
            for session in range(self.space.first_free, self.space.sessions)
            if len(self.singles[session]) > 0
        ]
        known = [step for step in steps if step is not None]
        return max(known, key=lambda step: step.gain, default=None)

    def _best_in(self, session: int, turn: int, wanted: int) -> _Move | None:
        people = self.singles[session]
        here = self.cells[people, session]
        row = np.arange(len(people))
        there = self._there(session)
        new, lost = (self.meetings == 0).astype(float), (self.meetings == 1).astype(float)
        np.fill_diagonal(new, 0.0)
        joins = new[people] @ there
        leaves = (lost[people] @ there)[row, here]
        joins[self._barred(session, people)] = -_NEVER
        gain = joins - leaves[:, None]
        exchange = gain[:, here] + gain[:, here].T - 2 * new[np.ix_(people, people)]
        exchange[here[:, None] == here[None, :]] = -_NEVER
        move = -self._moves(session, np.where(gain < -_NEVER / 2, _NEVER, -gain), np.ones(len(people), np.int64), here)
        self._bar_apart(session, people, here, exchange, move)
        wait = self.tabu_until[session, people] > turn
        exchange[(wait[:, here] | wait[:, here].T) & (exchange <= wanted)] = -_NEVER
        move[wait & (move <= wanted)] = -_NEVER
        exchange += self.chance.random(exchange.shape) * _TIE_BREAK
        move += self.chance.random(move.shape) * _TIE_BREAK
        one, other = divmod(int(exchange.argmax()), len(people))
        who, hide = divmod(int(move.argmax()), self.space.hides)
        if max(exchange[one, other], move[who, hide]) < -_NEVER / 2:
            return None
        if exchange[one, other] >= move[who, hide]:
            goes: tuple[tuple[int, int], ...] = (
                (int(people[one]), int(here[other])),
                (int(people[other]), int(here[one])),
            )
            return _Move(float(exchange[one, other]), session, goes)
        return _Move(float(move[who, hide]), session, ((int(people[who]), hide),))

    def _barred(self, session: int, people: Ints) -> NDArray[np.bool_]:
        """[person, hide] that a rule or a floor forbids."""
        cost, share = self._after(people, session)
        low = share < self.floors.each
        low |= int(self.share[self.counts].sum()) + share - self.share[people][:, None] < self.floors.total
        barred: NDArray[np.bool_] = (cost >= _BARRED_COST) | (low & self.counts[people][:, None])
        barred[np.arange(len(people)), self.cells[people, session]] = False
        return barred

    def _bar_apart(self, session: int, people: Ints, here: Ints, exchange: Floats, move: Floats) -> None:
        if self.apart:
            worse, away = -exchange, -move
            self._keep_apart(session, [people[i : i + 1] for i in range(len(people))], here, worse, away)
            exchange[worse > _NEVER] = -_NEVER
            move[away > _NEVER] = -_NEVER

    def _take(self, step: _Move, turn: int) -> None:
        """Make the step, and bar the way back for a while."""
        before = self._there(step.session)
        for person, hide in step.goes:
            old = int(self.cells[person, step.session])
            tenure = int(self.chance.integers(*_TENURE))
            self.tabu_until[step.session, person, old] = turn + tenure
            self.people_there[step.session, old] -= 1
            self.people_there[step.session, hide] += 1
            self.cells[person, step.session] = hide
        for person, _ in step.goes:
            self._recount(person)
        after = self._there(step.session)
        self.meetings += after @ after.T - before @ before.T
        np.fill_diagonal(self.meetings, 0.0)
