"""What a repair cannot change (turns that are over, hides whose car has left) and what that leaves to be planned."""

from dataclasses import dataclass, replace

from trips.core.rota.problem.values import LEADER, Problem, Triple, Turn

Cell = tuple[int, int]  # person, session


@dataclass(frozen=True, slots=True)
class Fixed:
    """`turns`: the issued turn of each (person, session), LEADER among them, that stays as it is."""

    problem: Problem
    turns: dict[Cell, Turn]

    def is_fixed(self, session: int, hide: int) -> bool:
        """Whether that hide is over, or its car has left."""
        return session < self.first_free or (self.problem.issued is not None and (session, hide) in self.problem.frozen)

    @property
    def first_free(self) -> int:
        """The first session that can still be planned."""
        return open_sessions(self.problem).start

    def hide_of(self, person: int, session: int) -> int | None:
        """Where that person sits then whatever is planned; None where nothing settles it."""
        turn = self.turns.get((person, session))
        return None if turn is None else turn.hide

    def opened(self, session: int) -> frozenset[int]:
        """The hides that fixed turns of participants open then."""
        return frozenset(t.hide for t in self.turns.values() if t.session == session and t.person != LEADER)

    def gone(self, session: int) -> frozenset[int]:
        """The participants who sit in such hides then."""
        return frozenset(person for person, when in self.turns if when == session and person != LEADER)

    def stays(self) -> frozenset[Triple]:
        """(person, session, hide) of all stays through a break: asked for, and begun."""
        begun = {(turn.person, turn.session, turn.hide) for turn in self.turns.values() if turn.stays}
        return self.problem.stays | begun

    def staying_on(self) -> list[Turn]:
        """The fixed turns after which the person goes on sitting there, as issued and as far as that can still be."""
        issued = self.problem.issued.turns if self.problem.issued is not None else ()
        later = {(turn.person, turn.session - 1, turn.hide): turn for turn in issued if turn.person != LEADER}
        return [
            turn
            for (person, session), turn in sorted(self.turns.items())
            if turn.stays
            and (person, session, turn.hide) in later
            and not self.is_fixed(session + 1, turn.hide)
            and self.problem.may_sit(person, session + 1, turn.hide)
        ]


def open_sessions(problem: Problem) -> range:
    """The sessions that can still be planned."""
    return range(problem.past if problem.issued is not None else 0, len(problem.sessions))


def fixed_part(problem: Problem) -> Fixed:
    """What is fixed in a problem: nothing where no rota is issued."""
    fixed = Fixed(problem, {})
    for turn in problem.issued.turns if problem.issued is not None else ():
        if fixed.is_fixed(turn.session, turn.hide):
            fixed.turns[turn.person, turn.session] = turn
    return fixed


def left_to_plan(problem: Problem, fixed: Fixed) -> Problem:
    """The problem without those whose car has left, and without their hides: absent, closed, nobody pinned there."""
    if problem.issued is None or not problem.frozen:
        return problem
    gone = {cell for cell in fixed.turns if cell[0] != LEADER and cell[1] >= problem.past}
    pins = tuple(
        pin
        for pin in problem.pins
        if not fixed.is_fixed(pin.session, pin.hide) and (pin.person, pin.session) not in fixed.turns
    )
    return replace(problem, absent=problem.absent | gone, closed=problem.closed | problem.frozen, pins=pins)


def leader_pins(problem: Problem, fixed: Fixed) -> dict[int, int]:
    """Where the leader must sit: pinned, or held by the issued rota."""
    pins = [pin for pin in problem.pins if pin.person == LEADER and not fixed.is_fixed(pin.session, pin.hide)]
    found = {pin.session: pin.hide for pin in pins}
    return found | {session: turn.hide for (person, session), turn in fixed.turns.items() if person == LEADER}


def open_limits(problem: Problem, fixed: Fixed) -> list[int]:
    """How many hides may be open, session by session; cars that have left may have opened more."""
    limit = len(problem.hides) if problem.open_hides_at_once is None else problem.open_hides_at_once
    return [max(limit, len(fixed.opened(session))) for session in range(len(problem.sessions))]
