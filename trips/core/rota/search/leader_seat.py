"""Where the leader sits, once the participants are placed: in spare seats, and with everybody about as often."""

from typing import Any

from trips.core.rota.model.cp_sat import StopSignal, Task, solve_tasks
from trips.core.rota.model.rules import rota_model
from trips.core.rota.model.space import NONE, Draft, Space
from trips.core.rota.model.wishes import RotaWish
from trips.core.rota.problem.values import LEADER

_WORK = 1.0  # deterministic seconds, ample for one variable a session and hide


class LeaderEvenness(RotaWish):
    """The leader sits with everybody about as often: the greatest difference between two people."""

    name = "leader_company"

    def value(self, space: Space, draft: Draft) -> int:
        """The most sessions that anybody shares a hide with the leader, less the fewest."""
        counts = [_meetings(draft, person) for person in range(space.people)]
        return max(counts, default=0) - min(counts, default=0)


def seat_leader(space: Space, draft: Draft, seed: int, stop: StopSignal) -> tuple[Draft, bool]:
    """The draft with the leader's seats (most, then evenest over the people), and whether that is proved."""
    model = rota_model(space, draft, [])
    allowed = _allowed(space, draft)
    for session, hides in allowed.items():
        for hide in hides:
            model.leader[session, hide] = model.cp.new_bool_var("")
        model.cp.add_at_most_one([model.leader[session, hide] for hide in hides])
    if not model.leader:
        return draft, True
    counts = []
    for person in range(space.people):
        terms: list[Any] = [t for (s, h), t in model.leader.items() if draft.cells[person][s] == h]
        held = sum(hide >= 0 and draft.cells[person][s] == hide for s, hide in space.leader_held.items())
        counts.append(model.expr.sum(terms) + held)
    most, least = (model.cp.new_int_var(0, space.sessions, "") for _ in range(2))
    for count in counts:
        model.cp.add(count <= most)
        model.cp.add(count >= least)
    seats = model.expr.sum(list(model.leader.values()))
    # lexicographic: a difference is at most the number of sessions, and a seat that is kept breaks ties
    model.cp.maximize(seats * (space.sessions + 2) * 2 - 2 * (most - least) + _kept(space, model.leader))
    found = solve_tasks([Task(model, _WORK, seed)], stop)[0]
    return (found.draft, found.status == "optimal") if found.draft is not None else (draft, False)


def seat_leader_where_settled(space: Space, draft: Draft) -> Draft:
    """The draft with a seat for the leader in each session in which nobody else has a choice left."""
    found = draft.copy()
    unsettled = {session for _, session in space.open_cells()}
    for session, hides in _allowed(space, draft).items():
        if session not in unsettled:
            found.leader[session] = hides[0]
    return found


def _allowed(space: Space, draft: Draft) -> dict[int, list[int]]:
    """session -> hides with a seat that the policy leaves to the leader."""
    problem = space.problem
    found: dict[int, list[int]] = {}
    if problem.leader == "never":
        return found
    for session in range(space.first_free, space.sessions):
        if session in space.leader_held:
            continue
        people = [row[session] for row in draft.cells]
        hides = []
        for hide in range(space.hides):
            there = people.count(hide)
            handed = any((p, session) in draft.parts and people[p] == hide for p in range(space.people))
            seats = space.room[session][hide] - ((session, hide) in problem.shared)
            free = seats - there + handed > 0 and there and not space.is_fixed(session, hide)
            free = free and problem.may_sit(LEADER, session, hide)
            if free and (problem.leader == "coaching" or _nobody_wants(space, draft, session, hide)):
                hides.append(hide)
        if hides:
            found[session] = hides
    return found


def _nobody_wants(space: Space, draft: Draft, session: int, hide: int) -> bool:
    """Whether no participant who may sit there rests or ranks it above the hide they have."""
    problem = space.problem
    for person, row in enumerate(draft.cells):
        own = row[session]
        if own == hide or not problem.may_sit(person, session, hide):
            continue
        if own == NONE and person not in problem.guests:
            return False
        points = problem.points[person][session]
        if own >= 0 and points[hide] > points[own]:
            return False
    return True


def _kept(space: Space, leader: dict[tuple[int, int], Any]) -> Any:
    """1 where the leader keeps an issued seat, weighed least."""
    issued = space.problem.issued
    return sum(
        leader[t.session, t.hide]
        for t in (issued.turns if issued else ())
        if t.person < 0 and (t.session, t.hide) in leader
    )


def _meetings(draft: Draft, person: int) -> int:
    return sum(hide >= 0 and draft.cells[person][session] == hide for session, hide in enumerate(draft.leader))
