"""What is counted of a plan: points and shares, rests, turns in sought-after hides, hardships, seats, changes."""

from dataclasses import dataclass
from math import fsum

import numpy as np

from trips.core.rota.check.best_alone import best_alone
from trips.core.rota.check.fair_shares import count_points, fair_shares, worst_share
from trips.core.rota.check.seating import Seating, seating_of
from trips.core.rota.check.visits import Visit
from trips.core.rota.problem.values import LEADER, NO_SEAT, Plan, Problem, Turn


@dataclass(frozen=True, slots=True)
class DemandTally:
    """A sought-after hide: who is able, the able without a turn there, visits of each person, excess."""

    hide: int
    able: tuple[int, ...]
    without: tuple[int, ...]
    visits: tuple[int, ...]
    excess: int


@dataclass(frozen=True, slots=True)
class Tallies:
    """Everything that is counted; tuples run over people.

    `leader_company`: sessions that each person shares a hide with the leader. `changes`, `seat_changes`: (person,
    session) that differ from the issued rota.
    """

    points: tuple[float, ...]
    shares: tuple[float, ...]
    worst_share: float
    total_of_shares: float
    rests: tuple[int, ...]
    rests_repeated: int
    demand: tuple[DemandTally, ...]
    burdens: tuple[int, ...]
    burden_excess: int
    leader_seats: int
    leader_company: tuple[int, ...]
    pairs_met: int
    changes: tuple[tuple[int, int], ...] = ()
    seat_changes: tuple[tuple[int, int], ...] = ()

    @property
    def without_turn(self) -> int:
        """Able people without a turn, over all sought-after hides."""
        return sum(len(hide.without) for hide in self.demand)

    @property
    def demand_excess(self) -> int:
        """The excess over all sought-after hides."""
        return sum(hide.excess for hide in self.demand)


def tallies(problem: Problem, plan: Plan) -> Tallies:
    """Count everything about a plan whose indices are all known."""
    seating = seating_of(problem, plan)
    people = range(len(problem.people))
    visits = seating.visits_by_person()
    points = tuple(count_points(problem, person, visits[person]) for person in people)
    best = best_alone(problem)
    shares = fair_shares(points, best, problem.guests)
    rests = tuple(sum(1 for who, _ in plan.rests if who == person) for person in people)
    burdens = tuple(
        sum((turn.session, turn.hide) in problem.burdens for visit in own for turn in visit) for own in visits
    )
    moved, reseated = changes_from_issued(problem, plan)
    return Tallies(
        points=points,
        shares=shares,
        worst_share=worst_share(shares, best, problem.guests),
        total_of_shares=fsum(shares),
        rests=rests,
        rests_repeated=_rests_repeated(problem, rests),
        demand=tuple(_demand(problem, visits, hide) for hide in problem.in_demand),
        burdens=burdens,
        burden_excess=_burden_excess(problem, burdens),
        leader_seats=len(seating.leader_turns()),
        leader_company=tuple(_company(seating, person) for person in people),
        pairs_met=_pairs_met(seating),
        changes=moved,
        seat_changes=reseated,
    )


def able_for(problem: Problem, hide: int) -> tuple[int, ...]:
    """The people whom the hard rules let sit in that hide in some session, always-together included."""
    return tuple(
        person
        for person in range(len(problem.people))
        if person not in problem.guests
        and problem.visits_at_most != 0
        and any(_fits(problem, person, session, hide) for session in range(len(problem.sessions)))
    )


def _fits(problem: Problem, person: int, session: int, hide: int) -> bool:
    for group_hide, sessions in problem.joined:
        if group_hide == hide and session in sessions:
            return all(_fits_then(problem, person, when, hide) for when in sessions)
    return _fits_then(problem, person, session, hide)


def _fits_then(problem: Problem, person: int, session: int, hide: int) -> bool:
    group = together_with(problem, person, session)
    pinned = {pin.person: pin.hide for pin in problem.pins if pin.session == session}
    return len(group) <= problem.capacity(session, hide) and all(
        problem.may_sit(who, session, hide) and pinned.get(who, hide) == hide for who in group
    )


def together_with(problem: Problem, person: int, session: int) -> frozenset[int]:
    """The person and everybody present who must be in the same hide then, over any number of pairs."""
    group, waiting = {person}, [person]
    while waiting:
        who = waiting.pop()
        for pair in problem.together + problem.helpers:
            if who in pair:
                other = pair[0] if pair[1] == who else pair[1]
                if other not in group and (other, session) not in problem.absent:
                    group.add(other)
                    waiting.append(other)
    return frozenset(group)


def changes_from_issued(
    problem: Problem, plan: Plan, *, with_guests: bool = False
) -> tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]:
    """(person, session) with another hide (or a rest for a turn, or the reverse), then those with another seat only.

    Against the issued rota, in sessions that are not over; nothing without one. Somebody who is absent in that session
    by now did not change: leaving is not a move. Guests do not count; `with_guests`: those among them who had a turn.
    """
    if problem.issued is None:
        return (), ()
    before, after = turns_by_place(problem.issued), turns_by_place(plan)
    moved, reseated = [], []
    for session in range(problem.past, len(problem.sessions)):
        for person in problem.present(session):
            old, new = before.get((person, session)), after.get((person, session))
            if person in problem.guests and not (with_guests and old):
                continue
            if (old.hide if old else None) != (new.hide if new else None):
                moved.append((person, session))
            elif old and new and NO_SEAT not in (old.seat, new.seat) and old.seat != new.seat:
                reseated.append((person, session))
    return tuple(sorted(moved)), tuple(sorted(reseated))


def turns_by_place(plan: Plan) -> dict[tuple[int, int], Turn]:
    """Each participant's turn in each session, by (person, session)."""
    return {(turn.person, turn.session): turn for turn in plan.turns if turn.person != LEADER}


def _rests_repeated(problem: Problem, rests: tuple[int, ...]) -> int:
    """Rests beyond a person's first while somebody able to rest has none."""
    able = [
        person
        for person in range(len(problem.people))
        if person not in problem.guests
        and any(
            problem.rests(session) and (person, session) not in problem.absent
            for session in range(len(problem.sessions))
        )
    ]
    if all(rests[person] for person in able):
        return 0
    return sum(max(0, number - 1) for number in rests)


def _demand(problem: Problem, visits: tuple[tuple[Visit, ...], ...], hide: int) -> DemandTally:
    able = able_for(problem, hide)
    counts = tuple(sum(1 for visit in own if visit[0].hide == hide) for own in visits)
    some = [counts[person] for person in able if counts[person]]
    excess = sum(max(0, counts[person] - min(some) - 1) for person in able) if some else 0
    return DemandTally(hide, able, tuple(person for person in able if not counts[person]), counts, excess)


def _pairs_met(seating: Seating) -> int:
    """Pairs of people who share a hide in some session: the places of all people, each multiplied with each."""
    cells = {cell: column for column, cell in enumerate(seating.groups)}
    sits = np.zeros((len(seating.problem.people), len(cells)), dtype=np.int64)
    for cell, column in cells.items():
        sits[list(seating.people_in(*cell)), column] = 1
    return int(np.count_nonzero(np.triu(sits @ sits.T, k=1)))


def _burden_excess(problem: Problem, burdens: tuple[int, ...]) -> int:
    able = [
        person
        for person in range(len(problem.people))
        if any(problem.may_sit(person, session, hide) for session, hide in problem.burdens)
    ]
    least = min((burdens[person] for person in able), default=0)
    return sum(max(0, number - least - 1) for number in burdens)


def _company(seating: Seating, person: int) -> int:
    return sum(1 for turn in seating.leader_turns() if person in seating.people_in(turn.session, turn.hide))
