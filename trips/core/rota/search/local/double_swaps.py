"""Swaps of two people in two sessions at once, which a local search that moves one session at a time cannot see."""

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
_NEVER = 1e30  # cost of a swap that breaks the visit limit


class SearchState(Protocol):
    """What is read of a local search: who sits where, who may, what it gains and costs."""

    cells: Any
    space: Any
    may: Any
    gain: Any
    share: Any
    penalty: Any
    fees: Any
    visits: Any
    limit: Any


@dataclass(frozen=True, slots=True)
class DoubleSwap:
    """Two people who swap places in two sessions, and the change of cost."""

    cost: float
    other: int
    sessions: tuple[int, int]


@dataclass(frozen=True, slots=True)
class _FeeChanges:
    """[person, hide]: the change of fees when visits rise or fall by one or two; `room`: how many more are allowed."""

    less: Ints
    two_less: Ints
    more: Ints
    two_more: Ints
    room: Ints


def best_double_swap(state: SearchState, person: int, alone: NDArray[np.bool_]) -> DoubleSwap | None:
    """The cheapest such swap of that person with anybody; `alone[person, session]`: may be swapped singly."""
    sessions = np.flatnonzero(alone[person])
    if len(sessions) < 2:
        return None
    mine, theirs = state.cells[person, sessions], np.maximum(state.cells[:, sessions], 0)
    others = np.arange(state.space.people)
    able = alone[:, sessions] & (theirs != mine[None, :])
    able &= state.may[person, sessions[None, :], theirs] & state.may[others[:, None], sessions[None, :], mine[None, :]]
    able[person] = False
    first, second = np.triu_indices(len(sessions), 1)
    who, pair = np.nonzero(able[:, first] & able[:, second])
    if not len(who):
        return None
    one, two = first[pair], second[pair]
    hides = (mine[one], theirs[who, one], mine[two], theirs[who, two])
    fees = _fees(state)
    me = np.full(len(who), person)
    cost = np.zeros(len(who))
    fits = np.ones(len(who), dtype=bool)
    for people, (gone, come, gone_too, come_too) in ((me, hides), (who, (hides[1], hides[0], hides[3], hides[2]))):
        fee, within = _fee_change(fees, people, (gone, come, gone_too, come_too))
        gain = state.gain[people, sessions[one], come] - state.gain[people, sessions[one], gone]
        gain = gain + state.gain[people, sessions[two], come_too] - state.gain[people, sessions[two], gone_too]
        now = state.share[people]
        cost += state.penalty.cost(people, now + gain - fee) - state.penalty.cost(people, now)
        fits &= within
    cost[~fits] = _NEVER
    best = int(cost.argmin())
    return DoubleSwap(float(cost[best]), int(who[best]), (int(sessions[one[best]]), int(sessions[two[best]])))


def _fees(state: SearchState) -> _FeeChanges:
    most = state.fees.shape[2] - 1
    visits = state.visits
    row, column = np.indices(visits.shape)

    def change(step: int) -> Ints:
        after = np.clip(visits + step, 0, most)
        result: Ints = state.fees[row, column, after] - state.fees[row, column, visits]
        return result

    return _FeeChanges(change(-1), change(-2), change(1), change(2), state.limit - visits)


def _fee_change(
    fees: _FeeChanges, people: Ints, hides: tuple[Ints, Ints, Ints, Ints]
) -> tuple[Ints, NDArray[np.bool_]]:
    """The change of fees when two turns go and two come, and whether the visits stay within the rule.

    A hide that goes in one session and comes in the other changes nothing.
    """
    gone, come, gone_too, come_too = hides
    back, forth = gone == come_too, gone_too == come
    twice_gone, twice_come = gone == gone_too, come == come_too
    change = np.where(twice_gone, fees.two_less[people, gone], fees.less[people, gone])
    change = np.where(back, 0, change)
    more = np.where(twice_come, fees.two_more[people, come], fees.more[people, come])
    change = change + np.where(forth, 0, more)
    change = change + np.where(forth | twice_gone, 0, fees.less[people, gone_too])
    change = change + np.where(back | twice_come, 0, fees.more[people, come_too])
    within = forth | (fees.room[people, come] >= np.where(twice_come, 2, 1))
    within &= back | (fees.room[people, come_too] >= np.where(twice_come, 2, 1))
    return change, within
