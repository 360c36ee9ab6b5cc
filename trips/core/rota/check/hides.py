"""The checker's rules about hides: states, numbers, seats, hand-overs, joined sessions, the leader and guests."""

from collections.abc import Iterator
from itertools import combinations

from trips.core.rota.check.seating import Fault, Seating
from trips.core.rota.problem.values import LEADER, NO_SEAT, Turn

EVEN = 1e-9  # points are rounded to hundredths: a smaller difference comes of adding floats and is none


def open_hides_only(seating: Seating) -> Iterator[Fault]:
    """Nobody sits in a hide that is closed then."""
    for (session, hide), turns in _free_groups(seating):
        if (session, hide) in seating.problem.closed:
            yield Fault("closed", tuple(turn.person for turn in turns), (session,), (hide,))


def no_more_than_seats(seating: Seating) -> Iterator[Fault]:
    """No more people than seats, the leader's seat counted."""
    for (session, hide), turns in _free_groups(seating):
        capacity = seating.problem.capacity(session, hide)
        if len(turns) > capacity and (session, hide) not in seating.problem.closed:
            figures = (("people", len(turns)), ("seats", capacity))
            yield Fault("too_many", tuple(turn.person for turn in turns), (session,), (hide,), figures)


def no_fewer_than_minimum(seating: Seating) -> Iterator[Fault]:
    """An open hide has its minimum of participants, and one at least: the leader does not count."""
    for (session, hide), _ in _free_groups(seating):
        people = seating.people_in(session, hide)
        minimum = max(1, seating.problem.hides[hide].minimum_people)
        if len(people) < minimum:
            figures = (("people", len(people)), ("minimum", minimum))
            yield Fault("too_few", people or (LEADER,), (session,), (hide,), figures)


def open_at_once(seating: Seating) -> Iterator[Fault]:
    """No more hides are open in a session than the rule allows, unless cars that have left opened them."""
    limit = seating.problem.open_hides_at_once
    if limit is None:
        return
    for session in seating.free_sessions():
        hides = tuple(sorted(hide for when, hide in seating.groups if when == session))
        fixed = [hide for hide in hides if seating.is_fixed(session, hide)]
        if len(hides) > max(limit, len(fixed)):
            yield Fault("open_at_once", (), (session,), hides, (("open", len(hides)), ("most", limit)))


def joined_sessions(seating: Seating) -> Iterator[Fault]:
    """An all-day hide has the same people in all its joined sessions.

    Once it has begun, those who sat there from the start go on as far as they can, and nobody joins them.
    """
    for hide, sessions in seating.problem.joined:
        begun = [session for session in sorted(sessions) if seating.is_fixed(session, hide)]
        free = [session for session in sessions if session not in begun]
        for first, second in combinations(free, 2):
            differing = set(seating.people_in(first, hide)) ^ set(seating.people_in(second, hide))
            if differing:
                yield Fault("joined", tuple(sorted(differing)), (first, second), (hide,))
        for session in free if begun else ():
            from_the_start = set.intersection(*(set(seating.people_in(then, hide)) for then in begun))
            there = set(seating.people_in(session, hide))
            can_go_on = {
                person
                for person in from_the_start
                if all(seating.problem.may_sit(person, then, hide) for then in (begun[0], session))
            }
            differing = (there - from_the_start) | (can_go_on - there)
            if differing:
                yield Fault("joined", tuple(sorted(differing)), (begun[0], session), (hide,))


def seats_in_use(seating: Seating) -> Iterator[Fault]:
    """Every seat that a turn names exists in that hide and is in use then."""
    for turn in seating.plan.turns:
        if turn.seat == NO_SEAT or seating.is_fixed(turn.session, turn.hide):
            continue
        seats = seating.problem.hides[turn.hide].seats
        if not 0 <= turn.seat < len(seats):
            yield Fault("seat_unknown", (turn.person,), (turn.session,), (turn.hide,))
            continue
        out_from = seats[turn.seat].out_from
        if out_from is not None and turn.session >= out_from:
            yield Fault("seat_out", (turn.person,), (turn.session,), (turn.hide,), (("seat", turn.seat),))


def seats_taken_once(seating: Seating) -> Iterator[Fault]:
    """Nobody shares a seat, but for a hand-over."""
    for (session, hide), turns in _free_groups(seating):
        for seat in sorted({turn.seat for turn in turns} - {NO_SEAT}):
            there = [turn for turn in turns if turn.seat == seat]
            if len(there) > 1 and not all(turn.part for turn in there):
                people = tuple(turn.person for turn in there)
                yield Fault("seat_twice", people, (session,), (hide,), (("seat", seat),))


def hand_overs(seating: Seating) -> Iterator[Fault]:
    """A seat is handed over only where it is allowed, one in a hide, between two people with parts 1 and 2."""
    for (session, hide), turns in _free_groups(seating):
        parts = [turn for turn in turns if turn.part]
        people = tuple(turn.person for turn in parts)
        if parts and (session, hide) not in seating.problem.shared:
            yield Fault("part_not_allowed", people, (session,), (hide,))
        elif parts and LEADER in people:
            yield Fault("leader_part", people, (session,), (hide,))
        elif parts and (sorted(turn.part for turn in parts) != [1, 2] or len({turn.seat for turn in parts}) != 1):
            yield Fault("parts", people, (session,), (hide,))
        places = len(turns) - (1 if parts else 0)
        seats = seating.problem.capacity(session, hide) - (1 if (session, hide) in seating.problem.shared else 0)
        if len(turns) <= seating.problem.capacity(session, hide) and places > seats:
            yield Fault("hand_over_missing", tuple(turn.person for turn in turns), (session,), (hide,))


def leader_policy(seating: Seating) -> Iterator[Fault]:
    """The leader sits as the policy says: never, or only in seats that nobody could use better; pins override it."""
    problem = seating.problem
    pinned = {(pin.session, pin.hide) for pin in problem.pins if pin.person == LEADER}
    for turn in seating.leader_turns():
        if (turn.session, turn.hide) in pinned or seating.is_fixed(turn.session, turn.hide):
            continue
        if problem.leader == "never":
            yield Fault("leader_never", (LEADER,), (turn.session,), (turn.hide,))
        if problem.leader != "spare_seats":
            continue
        for person in problem.present(turn.session):
            rule = _better_used(seating, person, turn)
            if rule:
                yield Fault(rule, (LEADER, person), (turn.session,), (turn.hide,))


def guests_last(seating: Seating) -> Iterator[Fault]:
    """A guest sits nowhere where somebody who rests in that session may sit."""
    problem = seating.problem
    helping = {helper for helper, _ in problem.helpers}
    for (session, hide), turns in _free_groups(seating):
        guests = [turn.person for turn in turns if turn.person in problem.guests and turn.person not in helping]
        waiting = [
            person for person, when in sorted(seating.rests) if when == session and problem.may_sit(person, when, hide)
        ]
        if guests and waiting:
            yield Fault("guest_first", (guests[0], waiting[0]), (session,), (hide,))


def _better_used(seating: Seating, person: int, turn: Turn) -> str:
    """Why the leader's seat belongs to that person, or nothing."""
    problem, session = seating.problem, turn.session
    if not problem.may_sit(person, session, turn.hide):
        return ""
    if seating.rests.get((person, session)):
        return "leader_before_rest"
    hide = seating.hide_of(person, session)
    if hide is None or hide == turn.hide:
        return ""
    points = problem.points[person][session]
    return "leader_better_seat" if points[turn.hide] > points[hide] + EVEN else ""


def _free_groups(seating: Seating) -> Iterator[tuple[tuple[int, int], list[Turn]]]:
    for (session, hide), turns in sorted(seating.groups.items()):
        if not seating.is_fixed(session, hide):
            yield (session, hide), turns


RULES = (
    open_hides_only,
    no_more_than_seats,
    no_fewer_than_minimum,
    open_at_once,
    joined_sessions,
    seats_in_use,
    seats_taken_once,
    hand_overs,
    leader_policy,
    guests_last,
)
