"""Drafts turned into plans."""

from trips.core.rota.model.space import NONE, Cell, Draft, Space
from trips.core.rota.problem.values import LEADER, Plan, Turn


def plan_from(space: Space, draft: Draft, seats: dict[Cell, int]) -> Plan:
    """The plan of a draft; what the issued rota fixes is taken over as it was issued."""
    turns, rests = _fixed(space)
    done = {(turn.person, turn.session) for turn in turns}
    for person in (LEADER, *range(space.people)):
        row = draft.leader if person == LEADER else draft.cells[person]
        for session in range(space.first_free, space.sessions):
            hide = row[session]
            if (person, session) in done:
                continue
            if hide >= 0:
                part = _part(draft, person, session)
                stays = (person, session, hide) in space.problem.stays
                turns.append(Turn(person, session, hide, seats[person, session], stays, part))
            elif hide == NONE and person != LEADER and person not in space.problem.guests:
                rests.append((person, session))
    turns.sort(key=lambda turn: (turn.session, turn.hide, turn.person))
    return Plan(tuple(turns), tuple(sorted(rests)))


def _fixed(space: Space) -> tuple[list[Turn], list[Cell]]:
    issued = space.problem.issued
    if issued is None:
        return [], []
    turns = [turn for turn in issued.turns if space.is_fixed(turn.session, turn.hide)]
    return turns, [rest for rest in issued.rests if rest[1] < space.first_free]


def _part(draft: Draft, person: int, session: int) -> int:
    """1 or 2 for those who hand a seat over, in the order of their names; 0 for the others."""
    if (person, session) not in draft.parts:
        return 0
    hide = draft.cells[person][session]
    sharing = sorted(p for p, s in draft.parts if s == session and draft.cells[p][s] == hide)
    return sharing.index(person) + 1
