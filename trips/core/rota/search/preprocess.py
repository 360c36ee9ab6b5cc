"""Presolve: narrow the options by every rule that one person, one hide or one fixed turn decides alone."""

from dataclasses import dataclass, field

from trips.core.rota.model.space import NONE, OUT, Cell, Space, seats_in_use, whole_shares
from trips.core.rota.problem.presence import Fixed, fixed_part, leader_pins, open_limits
from trips.core.rota.problem.values import LEADER, NO_SEAT, Problem, Turn
from trips.core.rota.problem.visits import visit_limits, visits_of


@dataclass(slots=True)
class _Work:
    problem: Problem
    settled: Fixed
    options: list[list[set[int]]]
    held: set[Cell]
    room: list[list[int]]
    least: list[list[int]]
    impossible: set[Cell] = field(default_factory=set)

    def fixed(self, session: int, hide: int) -> bool:
        """Whether the issued rota fixes that hide then."""
        return self.settled.is_fixed(session, hide)

    def restrict(self, person: int, session: int, hide: int) -> None:
        """Leave that hide as the only choice."""
        self.options[person][session] &= {hide}


def preprocess(problem: Problem) -> Space:
    """The search space of a problem; with `impossible_cells` no plan exists."""
    work = _open(problem)
    _hold_issued(work)
    _pin(work)
    leader = leader_pins(problem, work.settled)
    leader_impossible = _seat_leader(work, leader)
    joined, party = _joined(problem), _parties(work)
    visit_of = visits_of(problem, work.settled)
    while _narrow(work, joined, party):
        pass
    counted, gain, fee = whole_shares(problem)
    impossible_cells = [
        (p, s)
        for p in range(len(problem.people))
        for s in range(len(problem.sessions))
        if not work.options[p][s] or (p, s) in work.impossible
    ]
    impossible_cells += [  # the leader is pinned to a hide that nobody else can open
        (LEADER, s) for s, h in leader.items() if not work.fixed(s, h) and not any(h in row[s] for row in work.options)
    ]
    return Space(
        problem=problem,
        fixed=work.settled,
        options=[[tuple(sorted(choices)) for choices in row] for row in work.options],
        held=frozenset(work.held),
        room=work.room,
        least=work.least,
        open_limit=open_limits(problem, work.settled),
        must_open=frozenset((s, h) for s, h in leader.items() if not work.fixed(s, h)),
        visits_limit=visit_limits(problem, work.settled, visit_of),
        visit_of=visit_of,
        party_of=party,
        joined_of=joined,
        counted=counted,
        gain=gain,
        fee=fee,
        leader_held=leader,
        impossible_cells=impossible_cells + leader_impossible,
    )


def _open(problem: Problem) -> _Work:
    """Presence, states, reach, limits and allowed rests."""
    sessions, hides = range(len(problem.sessions)), range(len(problem.hides))
    options: list[list[set[int]]] = []
    for person in range(len(problem.people)):
        row = []
        for session in sessions:
            if (person, session) in problem.absent:
                row.append({OUT})
                continue
            choices = {hide for hide in hides if problem.may_sit(person, session, hide)}
            if person in problem.guests or problem.rests(session) > 0:
                choices.add(NONE)
            row.append(choices)
        options.append(row)
    return _Work(
        problem=problem,
        settled=fixed_part(problem),
        options=options,
        held=set(),
        room=[[problem.capacity(s, h) for h in hides] for s in sessions],
        least=[[max(1, problem.hides[h].minimum_people) for h in hides] for _ in sessions],
    )


def _hold_issued(work: _Work) -> None:
    """The past and whoever sits in a car that has left stay as issued; nobody joins them."""
    problem, issued = work.problem, work.problem.issued
    if issued is None:
        return
    turns = {(turn.person, turn.session): turn for turn in issued.turns if turn.person != LEADER}
    for (person, session), turn in sorted(turns.items()):
        if work.fixed(session, turn.hide):
            work.held.add((person, session))
            work.options[person][session] = {turn.hide}
            if turn.stays:
                _hold_stay(work, turn, turns)
    for person in range(len(problem.people)):
        for session in range(len(problem.sessions)):
            if (person, session) in work.held:
                continue
            if session < work.settled.first_free:
                work.held.add((person, session))
                work.options[person][session] = {NONE if (person, session) in issued.rests else OUT}
            else:
                work.options[person][session] -= {h for h in range(len(problem.hides)) if work.fixed(session, h)}


def _hold_stay(work: _Work, turn: Turn, turns: dict[Cell, Turn]) -> None:
    """Who sits out the break goes on sitting there, if the hide still allows it."""
    later = turns.get((turn.person, turn.session + 1))
    if later is None or later.hide != turn.hide or work.fixed(later.session, later.hide):
        return
    if later.hide in work.options[later.person][later.session]:
        work.restrict(later.person, later.session, later.hide)


def _pin(work: _Work) -> None:
    """Pins and stays leave one choice."""
    problem = work.problem
    for pin in problem.pins:
        if pin.person == LEADER or work.fixed(pin.session, pin.hide):
            continue
        work.restrict(pin.person, pin.session, pin.hide)
        if pin.seat != NO_SEAT and pin.seat not in seats_in_use(problem, pin.session, pin.hide):
            work.impossible.add((pin.person, pin.session))
    for person, session, hide in sorted(problem.stays):
        if work.fixed(session, hide):
            continue
        work.restrict(person, session, hide)
        if session + 1 < len(problem.sessions):
            work.restrict(person, session + 1, hide)
        else:
            work.impossible.add((person, session))


def _seat_leader(work: _Work, leader: dict[int, int]) -> list[Cell]:
    """A leader's fixed seat is taken from the hide; returns pins that cannot be kept."""
    problem = work.problem
    wanted: dict[int, set[int]] = {}
    for pin in problem.pins:
        if pin.person == LEADER and not work.fixed(pin.session, pin.hide):
            wanted.setdefault(pin.session, set()).add(pin.hide)
            if not problem.may_sit(LEADER, pin.session, pin.hide):
                wanted[pin.session].add(NONE)
    for session, hide in leader.items():
        if not work.fixed(session, hide):
            work.room[session][hide] -= 1
        wanted.setdefault(session, set()).add(hide)
    return [(LEADER, session) for session, hides in sorted(wanted.items()) if len(hides) > 1]


def _joined(problem: Problem) -> dict[tuple[int, int], tuple[int, ...]]:
    """(session, hide) of an all-day hide -> all its joined sessions."""
    found: dict[tuple[int, int], tuple[int, ...]] = {}
    for hide, sessions in problem.joined:
        if len(sessions) > 1:
            for session in sessions:
                found[session, hide] = tuple(sorted(set(sessions) | set(found.get((session, hide), ()))))
    for (_, hide), sessions in sorted(found.items()):
        for session in sessions:
            found[session, hide] = sessions
    return found


def _parties(work: _Work) -> dict[Cell, int]:
    """(person, session) -> the lowest of those who share a hide then whatever happens, alone ones left out."""
    problem, party = work.problem, {}
    for session in range(work.settled.first_free, len(problem.sessions)):
        lowest = list(range(len(problem.people)))
        pairs = [
            pair
            for pair in problem.together + problem.helpers
            if all((p, session) not in problem.absent and (p, session) not in work.held for p in pair)
        ]
        for _ in pairs:
            for one, other in pairs:
                lowest[one] = lowest[other] = min(lowest[one], lowest[other])
        for person in {p for pair in pairs for p in pair}:
            party[person, session] = lowest[person]
    return party


def _narrow(work: _Work, joined: dict[tuple[int, int], tuple[int, ...]], party: dict[Cell, int]) -> bool:
    """One round of constraint propagation; whether anything changed."""
    before = sum(len(choices) for row in work.options for choices in row)
    for session in range(work.settled.first_free, len(work.problem.sessions)):
        _narrow_parties(work, session, party)
        _narrow_hides(work, session)
    for (session, hide), sessions in joined.items():
        if session == sessions[0]:
            _narrow_joined(work, hide, sessions)
    return before != sum(len(choices) for row in work.options for choices in row)


def _narrow_parties(work: _Work, session: int, party: dict[Cell, int]) -> None:
    groups: dict[int, list[int]] = {}
    for person in range(len(work.problem.people)):
        if (person, session) in party:
            groups.setdefault(party[person, session], []).append(person)
    for people in groups.values():
        shared = set.intersection(*(work.options[person][session] for person in people))
        shared = {hide for hide in shared if hide < 0 or work.room[session][hide] >= len(people)}
        for person in people:
            work.options[person][session] = set(shared)


def _narrow_hides(work: _Work, session: int) -> None:
    """A hide that cannot fill its minimum stays shut."""
    for hide in range(len(work.problem.hides)):
        if work.fixed(session, hide):
            continue
        able = [p for p in range(len(work.problem.people)) if hide in work.options[p][session]]
        if min(len(able), work.room[session][hide]) < work.least[session][hide]:
            for person in able:
                work.options[person][session].discard(hide)


def _narrow_joined(work: _Work, hide: int, sessions: tuple[int, ...]) -> None:
    """The same people throughout: who cannot sit in one of the sessions sits in none, who is there stays."""
    free = [session for session in sessions if not work.fixed(session, hide)]
    fixed = [session for session in sessions if work.fixed(session, hide)]
    for person in range(len(work.problem.people)):
        cells = work.options[person]
        was = bool(fixed) and all(cells[session] == {hide} for session in fixed)
        for session in free if fixed else ():
            if not was:
                cells[session].discard(hide)
            elif all(work.problem.may_sit(person, s, hide) for s in (fixed[0], session)):
                cells[session] &= {hide}
        if any(hide not in cells[session] for session in free):
            for session in free:
                cells[session].discard(hide)
        elif any(cells[session] == {hide} for session in free):
            for session in free:
                cells[session] &= {hide}
