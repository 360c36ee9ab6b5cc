"""The checker's rules about people: turns, rests, presence, limits, pairs, visits, pins and the past."""

from collections.abc import Iterable, Iterator
from itertools import combinations

from trips.core.rota.check.seating import Fault, Seating, is_known
from trips.core.rota.problem.values import LEADER, NO_SEAT, Turn


def known_names(seating: Seating) -> Iterator[Fault]:
    """Every turn and rest names a person, session and hide of the problem."""
    for turn in seating.plan.turns:
        if not is_known(seating.problem, turn.person, turn.session, turn.hide):
            yield Fault("unknown")
    for person, session in seating.plan.rests:
        if person == LEADER or not is_known(seating.problem, person, session, None):
            yield Fault("unknown")


def one_turn_or_rest(seating: Seating) -> Iterator[Fault]:
    """Everyone present has one turn or one rest; guests may go without."""
    problem = seating.problem
    for session in seating.free_sessions():
        for person in problem.present(session):
            turns = len(seating.turns.get((person, session), ()))
            rests = seating.rests.get((person, session), 0)
            if turns > 1:
                yield Fault("two_turns", (person,), (session,))
            if rests > 1:
                yield Fault("two_rests", (person,), (session,))
            if turns and rests:
                yield Fault("turn_and_rest", (person,), (session,))
            if rests and person in problem.guests:
                yield Fault("guest_rests", (person,), (session,))
            if not turns and not rests and person not in problem.guests:
                yield Fault("no_turn", (person,), (session,))
        if len(seating.turns.get((LEADER, session), ())) > 1:
            yield Fault("two_turns", (LEADER,), (session,))


def nobody_absent(seating: Seating) -> Iterator[Fault]:
    """The absent have neither turn nor rest."""
    for person, session in sorted(seating.problem.absent):
        turns = seating.turns.get((person, session), ())
        if any(not seating.is_fixed(session, turn.hide) for turn in turns):
            yield Fault("absent", (person,), (session,))
        if not seating.is_fixed(session) and seating.rests.get((person, session)):
            yield Fault("absent_rests", (person,), (session,))


def rests_allowed(seating: Seating) -> Iterator[Fault]:
    """No more people rest in a session than the leader allowed."""
    for session in seating.free_sessions():
        resting = tuple(sorted(person for person, when in seating.rests if when == session))
        if len(resting) > seating.problem.rests(session):
            yield Fault("rests_not_allowed", resting, (session,), (), (("allowed", seating.problem.rests(session)),))


def reach_and_limits(seating: Seating) -> Iterator[Fault]:
    """Nobody sits where reach, a limit or a car that they drive forbids it; the leader's pins are no exception."""
    problem = seating.problem
    for (person, session), turns in seating.turns.items():
        for turn in turns:
            cannot = (person, turn.hide) in problem.cannot or (person, session, turn.hide) in problem.cannot_then
            if cannot and not seating.is_fixed(session, turn.hide):
                yield Fault("cannot", (person,), (session,), (turn.hide,))


def together_pairs(seating: Seating) -> Iterator[Fault]:
    """Pairs who sit together always, and helpers, share a hide or rest both."""
    problem = seating.problem
    for rule, pairs in (("together", problem.together), ("helper", problem.helpers)):
        for one, other in pairs:
            for session in _both_present(seating, one, other):
                first, second = seating.hide_of(one, session), seating.hide_of(other, session)
                if first != second and not _either_fixed(seating, session, first, second):
                    hides = tuple(hide for hide in (first, second) if hide is not None)
                    yield Fault(rule, (one, other), (session,), hides)


def half_together_pairs(seating: Seating) -> Iterator[Fault]:
    """Pairs who sit together half the time share a hide in at least half of their common sessions, rounded down.

    Where what is fixed falls short of that, half of the sessions that are left suffice.
    """
    for one, other in seating.problem.half_together:
        met: list[bool] = []
        left: list[bool] = []
        for session in range(len(seating.problem.sessions)):
            if not {(one, session), (other, session)}.isdisjoint(seating.problem.absent):
                continue
            first, second = seating.hide_of(one, session), seating.hide_of(other, session)
            is_left = session in seating.free_sessions() and not _either_fixed(seating, session, first, second)
            (left if is_left else met).append(first is not None and first == second)
        wanted = min(len(met + left) // 2, sum(met) + len(left) // 2)
        if sum(met + left) < wanted:
            yield Fault("half_together", (one, other), (), (), (("shared", sum(met + left)), ("wanted", wanted)))


def apart_pairs(seating: Seating) -> Iterator[Fault]:
    """Pairs who are kept apart never share a hide."""
    for one, other in seating.problem.apart:
        for session in seating.free_sessions():
            hide = seating.hide_of(one, session)
            if hide is not None and hide == seating.hide_of(other, session) and not seating.is_fixed(session, hide):
                yield Fault("apart", (one, other), (session,), (hide,))


def one_piece_at_one_hide(seating: Seating) -> Iterator[Fault]:
    """A piece of gear that two people share is in one hide at a time, unless a car with one of them has left."""
    for one, other, session in sorted(seating.problem.sharers):
        first, second = seating.hide_of(one, session), seating.hide_of(other, session)
        if first is None or second is None or first == second or _either_fixed(seating, session, first, second):
            continue
        yield Fault("one_piece", (one, other), (session,), (first, second))


def visits_at_most(seating: Seating) -> Iterator[Fault]:
    """Nobody visits a hide more often than the rule allows, unless visits that have begun alone do."""
    limit = seating.problem.visits_at_most
    if limit is None:
        return
    for person, visits in enumerate(seating.visits_by_person()):
        for hide in sorted({visit[0].hide for visit in visits}):
            there = [visit for visit in visits if visit[0].hide == hide]
            fixed = [visit for visit in there if any(seating.is_fixed(turn.session, hide) for turn in visit)]
            if len(there) > max(limit, len(fixed)):
                sessions = tuple(visit[0].session for visit in there)
                yield Fault("visits_at_most", (person,), sessions, (hide,), (("visits", len(there)), ("most", limit)))


def never_twice_running(seating: Seating) -> Iterator[Fault]:
    """Nobody sits in the same hide in two sessions running, except within one visit."""
    if not seating.problem.never_twice_running:
        return
    for person, visits in enumerate(seating.visits_by_person()):
        for first, second in combinations(visits, 2):
            near = {turn.session + 1 for turn in first} & {turn.session for turn in second}
            near |= {turn.session for turn in first} & {turn.session + 1 for turn in second}
            for session in sorted(near) if first[0].hide == second[0].hide else ():
                if not (seating.is_fixed(session, first[0].hide) and seating.is_fixed(session - 1, first[0].hide)):
                    yield Fault("twice_running", (person,), (session - 1, session), (first[0].hide,))


def consecutive_turns_at_most(seating: Seating) -> Iterator[Fault]:
    """Nobody has a turn in more sessions in a row than the rule allows, unless all of them are fixed."""
    most = seating.problem.consecutive_turns_at_most
    if most is None:
        return
    for person in range(len(seating.problem.people)):
        for row in _rows(session for who, session in sorted(seating.turns) if who == person):
            begun = all(seating.is_fixed(session, seating.hide_of(person, session)) for session in row)
            if len(row) > most and not begun:
                figures = (("sessions", len(row)), ("most", most))
                yield Fault("consecutive_turns", (person,), row, (), figures)


def _rows(sessions: Iterable[int]) -> list[tuple[int, ...]]:
    """Sessions in order, cut wherever one is left out."""
    rows: list[list[int]] = []
    for session in sessions:
        if not rows or rows[-1][-1] + 1 != session:
            rows.append([])
        rows[-1].append(session)
    return [tuple(row) for row in rows]


def pins_kept(seating: Seating) -> Iterator[Fault]:
    """Pinned people sit where the leader pinned them, in the pinned seat."""
    for pin in seating.problem.pins:
        if seating.is_fixed(pin.session, pin.hide):
            continue
        turns = seating.turns.get((pin.person, pin.session), [])
        if not any(turn.hide == pin.hide for turn in turns):
            yield Fault("pin", (pin.person,), (pin.session,), (pin.hide,))
        elif pin.seat != NO_SEAT and not any(turn.seat == pin.seat for turn in turns):
            yield Fault("pin_seat", (pin.person,), (pin.session,), (pin.hide,))


def stays_kept(seating: Seating) -> Iterator[Fault]:
    """Who stays through a break sits in the same seat before and after; a stay the leader asked for is there."""
    for person, session, hide in sorted(seating.problem.stays):
        turns = seating.turns.get((person, session), [])
        if not any(turn.hide == hide and turn.stays for turn in turns) and not seating.is_fixed(session, hide):
            yield Fault("stay_missing", (person,), (session,), (hide,))
    for turn in seating.plan.turns:
        if turn.stays and not seating.is_fixed(turn.session, turn.hide):
            later = seating.turns.get((turn.person, turn.session + 1), [])
            if not any((other.hide, other.seat) == (turn.hide, turn.seat) for other in later):
                yield Fault("stay_broken", (turn.person,), (turn.session, turn.session + 1), (turn.hide,))


def past_unchanged(seating: Seating) -> Iterator[Fault]:
    """What is over, and whoever sits in a car that has left, stays as issued."""
    issued = seating.problem.issued
    if issued is None:
        return
    for turn in sorted(_fixed_turns(seating, issued.turns) ^ _fixed_turns(seating, seating.plan.turns), key=_key):
        rule = "past" if turn.session < seating.problem.past else "left"
        yield Fault(rule, (turn.person,), (turn.session,), (turn.hide,))
    before = {rest for rest in issued.rests if rest[1] < seating.problem.past}
    after = {rest for rest in seating.plan.rests if rest[1] < seating.problem.past}
    for person, session in sorted(before ^ after):
        yield Fault("past", (person,), (session,))


def _key(turn: Turn) -> tuple[int, int, int, int, int, bool]:
    return (turn.session, turn.hide, turn.person, turn.seat, turn.part, turn.stays)


def _fixed_turns(seating: Seating, turns: tuple[Turn, ...]) -> set[Turn]:
    return {turn for turn in turns if seating.is_fixed(turn.session, turn.hide)}


def _both_present(seating: Seating, one: int, other: int) -> Iterator[int]:
    for session in seating.free_sessions():
        if {(one, session), (other, session)}.isdisjoint(seating.problem.absent):
            yield session


def _either_fixed(seating: Seating, session: int, *hides: int | None) -> bool:
    return any(seating.is_fixed(session, hide) for hide in hides)


RULES = (
    one_turn_or_rest,
    nobody_absent,
    rests_allowed,
    reach_and_limits,
    together_pairs,
    half_together_pairs,
    apart_pairs,
    one_piece_at_one_hide,
    visits_at_most,
    never_twice_running,
    consecutive_turns_at_most,
    pins_kept,
    stays_kept,
    past_unchanged,
)
