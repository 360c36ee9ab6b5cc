"""The search space: who may still sit where, what is held, whole-number shares; drafts in it, and plans from them.

Rules that one person or one hide decides alone are in the options; the rest are constraints of `RotaModel`.
"""

from dataclasses import dataclass, field

from trips.core.rota.problem.presence import Fixed
from trips.core.rota.problem.shares import averages, best_alone, counts_for_shares, loss_share
from trips.core.rota.problem.values import LEADER, Plan, Problem, Turn

NONE = -1  # present without a turn: a rest, or a guest for whom no seat is spare
OUT = -2  # not there, or not yet planned
SCALE = 10_000_000  # a share of 1 in whole numbers: rounding stays below what people see, sums far below 2^53

Cell = tuple[int, int]  # person, session


@dataclass(slots=True)
class Draft:
    """A plan under work: `cells[person][session]` is a hide, NONE or OUT.

    `parts`: (person, session) that hand a seat over. `leader[session]`: the leader's hide or NONE.
    """

    cells: list[list[int]]
    leader: list[int]
    parts: frozenset[Cell] = frozenset()

    def copy(self) -> "Draft":
        """A draft that can be changed without touching this one."""
        return Draft([row[:] for row in self.cells], self.leader[:], self.parts)


@dataclass(slots=True)
class Space:
    """The search space of a problem, made by `preprocess`.

    `options[person][session]`: hides that may still be chosen, NONE or OUT. `held`: cells of the issued rota that stay.
    `room`, `least` [session][hide]: most and fewest participants of an open hide. `open_limit[session]`: most open
    hides; `must_open`: (session, hide) that a pin of the leader opens. `visits_limit[person][hide]`: most visits.
    `visit_of[person, session, hide]`: first session of its visit, where that is another one. `party_of[cell]`: lowest
    person of those who must sit together then. `joined_of[session, hide]`: all sessions of an all-day hide.
    `counted`: people whose shares are compared. `gain[person][session][hide]`, `fee[person][hide][visit]`: a turn's
    share, and what a visit takes off it, as whole numbers. `leader_held[session]`: the leader's pinned or issued hide.
    `first_free`: first session that can still be planned. `impossible_cells`: without any option, so no plan exists.
    """

    problem: Problem
    fixed: Fixed
    options: list[list[tuple[int, ...]]]
    held: frozenset[Cell]
    room: list[list[int]]
    least: list[list[int]]
    open_limit: list[int]
    must_open: frozenset[Cell]
    visits_limit: list[list[int]]
    visit_of: dict[tuple[int, int, int], int]
    party_of: dict[Cell, int]
    joined_of: dict[tuple[int, int], tuple[int, ...]]
    counted: tuple[int, ...]
    gain: list[list[list[int]]]
    fee: list[list[list[int]]]
    leader_held: dict[int, int]
    impossible_cells: list[Cell] = field(default_factory=list)

    @property
    def people(self) -> int:
        """How many people there are."""
        return len(self.problem.people)

    @property
    def sessions(self) -> int:
        """How many sessions there are."""
        return len(self.problem.sessions)

    @property
    def hides(self) -> int:
        """How many hides there are."""
        return len(self.problem.hides)

    def is_fixed(self, session: int, hide: int) -> bool:
        """Whether the past or a car that has left fixes that hide then."""
        return self.fixed.is_fixed(session, hide)

    @property
    def first_free(self) -> int:
        """The first session that can still be planned."""
        return self.fixed.first_free

    def visit(self, person: int, session: int, hide: int) -> int:
        """The first session of the visit that such a turn belongs to."""
        return self.visit_of.get((person, session, hide), session)

    def key(self, person: int, session: int, hide: int) -> tuple[int, int, int]:
        """Turns with one key are had all together or not at all."""
        group = self.joined_of.get((session, hide))
        first = group[0] if group else session
        return (self.party_of.get((person, first), person), first, hide)

    def open_cells(self) -> list[Cell]:
        """All (person, session) with a choice left."""
        return [(p, s) for p in range(self.people) for s in range(self.sessions) if len(self.options[p][s]) > 1]

    def planned_cells(self) -> list[Cell]:
        """All (person, session) of people present that nothing holds, those without a choice among them."""
        return [
            (p, s)
            for p in range(self.people)
            for s in range(self.first_free, self.sessions)
            if (p, s) not in self.held and self.options[p][s] != (OUT,)
        ]

    def close(self, cells: set[Cell]) -> frozenset[Cell]:
        """The cells and all that must move with them."""
        done: set[Cell] = set()
        waiting = sorted(cells)
        while waiting:
            cell = waiting.pop()
            if cell in done or len(self.options[cell[0]][cell[1]]) < 2:
                continue
            done.add(cell)
            waiting += self._tied_to(cell)
        return frozenset(done)

    def _tied_to(self, cell: Cell) -> list[Cell]:
        person, session = cell
        tied = []
        party = self.party_of.get(cell)
        if party is not None:
            tied += [(p, session) for p in range(self.people) if self.party_of.get((p, session)) == party]
        for hide in self.options[person][session]:
            tied += [(person, other) for other in self.joined_of.get((session, hide), ())]
        return tied

    def empty_draft(self) -> Draft:
        """Only what is held or has no choice is filled in."""
        cells = [[row[0] if len(row) == 1 else OUT for row in rows] for rows in self.options]
        leader = [self.leader_held.get(session, NONE) for session in range(self.sessions)]
        parts: frozenset[Cell] = frozenset()
        if self.problem.issued is not None:
            parts = frozenset(
                (turn.person, turn.session)
                for turn in self.problem.issued.turns
                if turn.part and (turn.person, turn.session) in self.held
            )
        return Draft(cells, leader, parts | self._forced_parts())

    def _forced_parts(self) -> frozenset[Cell]:
        """Hand-overs of sessions in which nobody has a choice: between the two whom it costs least."""
        found: set[Cell] = set()
        for session, hide in sorted(self.problem.shared):
            choices = [row[session] for row in self.options]
            there = [p for p, choice in enumerate(choices) if choice == (hide,)]
            certain = all(len(choice) == 1 for choice in choices) and not self.is_fixed(session, hide)
            if certain and len(there) == self.room[session][hide] >= 2:
                cheapest = sorted(there, key=lambda p: (self.gain[p][session][hide], p))[:2]
                found |= {(p, session) for p in cheapest}
        return frozenset(found)

    def visits(self, draft: Draft, person: int, hide: int) -> int:
        """How many visits a person makes to a hide."""
        row = draft.cells[person]
        return len({self.visit(person, session, hide) for session in range(self.sessions) if row[session] == hide})

    def share(self, draft: Draft, person: int) -> int:
        """A person's share in whole numbers (SCALE = 1)."""
        total = 0
        visits: dict[int, set[int]] = {}
        for session, hide in enumerate(draft.cells[person]):
            if hide >= 0:
                gain = self.gain[person][session][hide]
                total += gain // 2 if (person, session) in draft.parts else gain
                visits.setdefault(hide, set()).add(self.visit(person, session, hide))
        return total - sum(sum(self.fee[person][hide][: len(found)]) for hide, found in visits.items())


def whole_shares(problem: Problem) -> tuple[tuple[int, ...], list[list[list[int]]], list[list[list[int]]]]:
    """The people who count, each turn's gain and each further visit's fee, as whole-number shares."""
    best, average, counted = best_alone(problem), averages(problem), counts_for_shares(problem)
    sessions, hides = len(problem.sessions), len(problem.hides)
    gain, fee = [], []
    for person in range(len(problem.people)):
        factor = SCALE / best[person] if person in counted else 0.0
        points = problem.points[person]
        gain.append([[round(factor * points[s][h]) for h in range(hides)] for s in range(sessions)])
        fee.append(
            [
                [
                    round(factor * loss_share(problem, person, h, visit) * float(average[person, h]))
                    for visit in range(1, sessions + 1)
                ]
                for h in range(hides)
            ]
        )
    return counted, gain, fee


def seats_in_use(problem: Problem, session: int, hide: int) -> list[int]:
    """The seats of a hide that can be sat in then."""
    seats = problem.hides[hide].seats
    return [i for i, seat in enumerate(seats) if seat.out_from is None or session < seat.out_from]


def plan_from(space: Space, draft: Draft, seats: dict[Cell, int]) -> Plan:
    """The plan of a draft; what the issued rota fixes is taken over as it was issued."""
    turns, rests = _fixed_turns(space)
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


def _fixed_turns(space: Space) -> tuple[list[Turn], list[Cell]]:
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
