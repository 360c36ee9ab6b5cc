"""Local search on shares: best swap or move within a session, and swaps of two people in two sessions at once.

Only cells that no other rule ties are moved; whatever it returns keeps every rule that the draft kept.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trips.core.rota.model.space import SCALE, Draft, Space
from trips.core.rota.search.local.double_swaps import best_double_swap

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_NEVER = 1e30  # cost of a move that is barred
_LEAST_GAIN = 1e-9  # of cost; less is rounding, and could go round in circles


@dataclass(frozen=True, slots=True)
class Penalty:
    """What is minimised: `weight[person]` x (target - share)^2 below the target, less `slope` x share."""

    target: float
    weight: Floats
    slope: float = 0.0

    def cost(self, people: Ints, share: Ints) -> Floats:
        """The cost of those people's shares (whole numbers), along the first axis."""
        value = share / SCALE
        short = np.maximum(self.target - value, 0.0)
        weight = self.weight[people].reshape((-1,) + (1,) * (share.ndim - 1))
        cost: Floats = weight * short * short - np.minimum(weight, 1.0) * self.slope * value
        return cost


class LocalSearch:
    """A draft as arrays, and the moves on it.

    `cells[person, session]`, `gain[person, session, hide]`, `share[person]` as in Space and Draft; `fees[person, hide,
    visits]` of all visits together; `may[person, session, hide]`: this search may put that person there, and moves
    nobody out of a cell where none is; `units[session]`: people who move together; `alone[person, session]`: may be
    swapped in two sessions at once; `people_there[session, hide]`.
    """

    def __init__(self, space: Space, draft: Draft, penalty: Penalty) -> None:
        self.space, self.draft, self.penalty = space, draft, penalty
        people, sessions, hides = space.people, space.sessions, space.hides
        self.cells: Ints = np.array(draft.cells, dtype=np.int64).reshape(people, sessions)
        self.gain: Ints = np.array(space.gain, dtype=np.int64).reshape(people, sessions, hides)
        fees = np.array(space.fee, dtype=np.int64).reshape(people, hides, sessions)
        self.fees: Ints = np.concatenate([np.zeros((people, hides, 1), np.int64), fees.cumsum(axis=2)], axis=2)
        self.limit: Ints = np.array(space.visits_limit, dtype=np.int64).reshape(people, hides)
        self.visits: Ints = np.array(
            [[space.visits(draft, p, h) for h in range(hides)] for p in range(people)], dtype=np.int64
        ).reshape(people, hides)
        self.share: Ints = np.array([space.share(draft, p) for p in range(people)], dtype=np.int64)
        self.may = self._may_move()
        self.units = [self._units(session) for session in range(sessions)]
        self.people_there: Ints = np.array(
            [[int((self.cells[:, s] == h).sum()) for h in range(hides)] for s in range(sessions)], dtype=np.int64
        ).reshape(sessions, hides)
        self.alone = self._alone()
        self.apart: dict[int, list[int]] = {}
        for one, other in space.problem.apart:
            self.apart.setdefault(one, []).append(other)
            self.apart.setdefault(other, []).append(one)

    def _may_move(self) -> NDArray[np.bool_]:
        """[person, session, hide] that this search may use: nothing joined, handed over or in demand, no rests."""
        space, problem = self.space, self.space.problem
        barred = {(s, h) for (s, h) in space.joined_of} | problem.shared
        demanded = set(problem.in_demand)
        half = {person for pair in problem.half_together for person in pair}
        tied = {(person, session) for *pair, session in problem.sharers for person in pair}
        may = np.zeros((space.people, space.sessions, space.hides), dtype=bool)
        for person in range(space.people):
            if person in half or person in problem.guests:
                continue
            for session in range(space.first_free, space.sessions):
                options = space.options[person][session]
                if len(options) > 1 and (person, session) not in tied:
                    for hide in options:
                        may[person, session, hide] = (
                            hide >= 0 and hide not in demanded and (session, hide) not in barred
                        )
                    now = self.cells[person, session]
                    if now < 0 or not may[person, session, now]:
                        may[person, session] = False
        return may

    def _alone(self) -> NDArray[np.bool_]:
        """[person, session] that can be exchanged without regard to anybody else or to the sessions beside it."""
        alone = np.asarray(self.may.any(axis=2), dtype=bool)
        for person, session in self.space.party_of:
            alone[person, session] = False
        for pair in self.space.problem.apart:
            alone[list(pair)] = False
        if self.space.problem.never_twice_running:
            alone[:] = False
        return alone

    def _units(self, session: int) -> list[NDArray[np.int64]]:
        """Those who move together in that session, the whole party movable."""
        groups: dict[int, list[int]] = {}
        for person in range(self.space.people):
            key = self.space.party_of.get((person, session), person)
            groups.setdefault(key, []).append(person)
        return [np.array(group) for group in groups.values() if all(self.may[p, session].any() for p in group)]

    def result(self) -> Draft:
        """The draft as it stands."""
        found = self.draft.copy()
        found.cells = [[int(hide) for hide in row] for row in self.cells]
        return found

    def _after(self, people: Ints, session: int) -> tuple[Floats, Ints]:
        """Cost change [person, hide] and share [person, hide] of sitting elsewhere in that session."""
        here = self.cells[people, session]
        row = np.arange(len(people))
        visits = self.visits[people]
        left = visits[row, here]
        base = self.share[people] - self.gain[people, session, here]
        base = base + self.fees[people, here, left] - self.fees[people, here, left - 1]
        hides = np.arange(self.space.hides)[None, :]
        more = self.fees[people[:, None], hides, np.minimum(visits + 1, self.space.sessions)]
        share = base[:, None] + self.gain[people, session] - (more - self.fees[people[:, None], hides, visits])
        share[row, here] = self.share[people]
        cost = self.penalty.cost(people, share)
        cost = cost - cost[row, here][:, None]
        barred = ~self.may[people, session] | (visits >= self.limit[people])
        if self.space.problem.never_twice_running:
            for other in (session - 1, session + 1):
                if 0 <= other < self.space.sessions:
                    near = self.cells[people, other]
                    barred[row[near >= 0], near[near >= 0]] = True
        barred[row, here] = False
        cost[barred] = _NEVER
        return cost, share

    def improve_session(self, session: int, most: int) -> bool:
        """The best swaps and moves in one session, at most so many; whether there was any."""
        units = self.units[session]
        moved = False
        if len(units) < 1:
            return False
        people = np.concatenate(units)
        sizes = np.array([len(unit) for unit in units])
        starts = np.concatenate([[0], sizes.cumsum()[:-1]])
        for _ in range(most):
            cost, share = self._after(people, session)
            by_unit = np.add.reduceat(cost, starts, axis=0)
            here = self.cells[people[starts], session]
            exchange = by_unit[:, here] + by_unit[:, here].T
            exchange[(here[:, None] == here[None, :]) | (sizes[:, None] != sizes[None, :])] = _NEVER
            move = self._moves(session, by_unit, sizes, here)
            self._keep_apart(session, units, here, exchange, move)
            one, other = divmod(int(exchange.argmin()), len(units))
            unit, hide = divmod(int(move.argmin()), self.space.hides)
            best = min(exchange[one, other], move[unit, hide])
            if best >= -_LEAST_GAIN:
                break
            moved = True
            if exchange[one, other] <= move[unit, hide]:
                pair = (int(here[one]), int(here[other]))
                self._put(session, starts[one], sizes[one], pair[1], people, share)
                self._put(session, starts[other], sizes[other], pair[0], people, share)
            else:
                self._put(session, starts[unit], sizes[unit], hide, people, share)
        return moved

    def _moves(self, session: int, by_unit: Floats, sizes: Ints, here: Ints) -> Floats:
        """Costs of moving to a free seat, minimum and open hides kept."""
        space = self.space
        there = self.people_there[session]
        room, least = np.array(space.room[session]), np.array(space.least[session])
        leader = self.draft.leader[session]
        if leader >= 0 and session not in space.leader_held:
            room[leader] -= 1
        opened = there > 0
        move = by_unit.copy()
        move[there[None, :] + sizes[:, None] > room[None, :]] = _NEVER
        move[~opened[None, :] & (sizes[:, None] < least[None, :])] = _NEVER
        closes = there[here] == sizes
        closes &= np.array([(session, int(hide)) not in space.must_open and int(hide) != leader for hide in here])
        may_leave = closes | (there[here] - sizes >= least[here])
        move[~may_leave] = _NEVER
        if int(opened.sum()) >= space.open_limit[session]:
            move[np.ix_(~closes, ~opened)] = _NEVER
        move[np.arange(len(sizes)), here] = _NEVER
        return move

    def _keep_apart(self, session: int, units: list[Ints], here: Ints, exchange: Floats, move: Floats) -> None:
        """Nobody moves to where somebody sits whom they are kept from, not even in exchange."""
        for index, unit in enumerate(units):
            for person in unit:
                for other in self.apart.get(int(person), ()):
                    hide = self.cells[other, session]
                    if hide >= 0:
                        move[index, hide] = _NEVER
                        exchange[index, here == hide] = _NEVER
                        exchange[here == hide, index] = _NEVER

    def _put(self, session: int, start: int, size: int, hide: int, people: Ints, share: Ints) -> None:
        for index in range(start, start + size):
            person, old = int(people[index]), int(self.cells[people[index], session])
            self.share[person] = share[index, hide]
            self.cells[person, session] = hide
            self.visits[person, old] -= 1
            self.visits[person, hide] += 1
            self.people_there[session, old] -= 1
            self.people_there[session, hide] += 1

    def swap_two_sessions(self, person: int) -> bool:
        """The best swap of two sessions at once between that person and somebody; whether there was one."""
        best = best_double_swap(self, person, self.alone)
        if best is None or best.cost >= -_LEAST_GAIN:
            return False
        for session in best.sessions:
            self.cells[[person, best.other], session] = self.cells[[best.other, person], session]
        for who in (person, best.other):
            self._recount(who)
        return True

    def _recount(self, person: int) -> None:
        draft = self.draft.copy()
        draft.cells[person] = [int(hide) for hide in self.cells[person]]
        self.share[person] = self.space.share(draft, person)
        self.visits[person] = [self.space.visits(draft, person, hide) for hide in range(self.space.hides)]

    def descend(self, rounds: int, ended: Callable[[], bool]) -> None:
        """Steepest descent in rounds over sessions, and over people once no session helps, until nothing does.

        `ended` is asked before each session and person.
        """
        sessions = range(self.space.first_free, self.space.sessions)
        most = 2 * self.space.people  # moves of one session in a round; the others then have a say
        for _ in range(rounds):
            moved = [not ended() and self.improve_session(session, most) for session in sessions]
            if not any(moved):
                moved = [not ended() and self.swap_two_sessions(person) for person in range(self.space.people)]
            if not any(moved):
                break
