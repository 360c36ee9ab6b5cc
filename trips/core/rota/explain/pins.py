"""Conflicts that counting finds among pins: against states, seats, rules, each other, and cars that have left."""

from collections.abc import Iterable, Iterator
from itertools import combinations

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.problem.presence import Fixed, open_sessions
from trips.core.rota.problem.values import LEADER, NO_SEAT, Pin, Problem
from trips.core.rota.problem.visits import visit_firsts


def pins_too_late(problem: Problem, fixed: Fixed) -> Iterator[Reason]:
    """Pins of people whose car to another hide has left."""
    for pin in _free_pins(problem):
        hide = fixed.hide_of(pin.person, pin.session)
        if hide is not None and not fixed.is_fixed(pin.session, pin.hide):
            yield Reason("pin_left", (pin.person,), (pin.session,), (pin.hide, hide))


def visits_may_join(problem: Problem) -> bool:
    """Whether two turns of somebody may be one visit, so that turns do not count as visits."""
    issued = problem.issued.turns if problem.issued is not None else ()
    return bool(problem.joined or problem.stays) or any(turn.stays for turn in issued)


def _free_pins(problem: Problem) -> list[Pin]:
    return [pin for pin in problem.pins if pin.session in open_sessions(problem)]


def _pins_against_states(problem: Problem) -> Iterator[Reason]:
    for pin in _free_pins(problem):
        names = ((pin.person,), (pin.session,), (pin.hide,))
        if (pin.session, pin.hide) in problem.closed:
            yield Reason("pin_closed", *names)
        elif (pin.person, pin.session) in problem.absent:
            yield Reason("pin_absent", *names)
        elif not problem.may_sit(pin.person, pin.session, pin.hide):
            yield Reason("pin_cannot", *names)
        elif pin.seat != NO_SEAT and not _in_use(problem, pin):
            yield Reason("pin_seat_out", *names)


def _in_use(problem: Problem, pin: Pin) -> bool:
    seats = problem.hides[pin.hide].seats
    out_from = seats[pin.seat].out_from if pin.seat < len(seats) else 0
    return out_from is None or pin.session < out_from


def _pins_to_one_seat(problem: Problem) -> Iterator[Reason]:
    """A pinned seat is for one, but for two participants where it may be handed over."""
    found: dict[tuple[int, int, int], list[int]] = {}
    for pin in _free_pins(problem):
        if pin.seat != NO_SEAT:
            found.setdefault((pin.session, pin.hide, pin.seat), []).append(pin.person)
    for (session, hide, _), people in sorted(found.items()):
        handed = (session, hide) in problem.shared and LEADER not in people
        if len(set(people)) > (2 if handed else 1):
            yield Reason("pins_one_seat", tuple(sorted(set(people))), (session,), (hide,))


def _pins_against_rules(problem: Problem) -> Iterator[Reason]:
    pins = [pin for pin in _free_pins(problem) if pin.person != LEADER]
    for one, other in combinations(pins, 2):
        pair = tuple(sorted((one.person, other.person)))
        if one.session == other.session:
            if pair in _sorted(problem.apart) and one.hide == other.hide:
                yield Reason("pins_apart", pair, (one.session,), (one.hide,))
            if pair in _sorted(problem.together + problem.helpers) and one.hide != other.hide:
                yield Reason("pins_together", pair, (one.session,), tuple(sorted((one.hide, other.hide))))
            if (*pair, one.session) in problem.sharers and one.hide != other.hide:
                yield Reason("pins_one_piece", pair, (one.session,), tuple(sorted((one.hide, other.hide))))
        elif problem.never_twice_running and one.person == other.person and one.hide == other.hide:
            first, second = sorted((one, other), key=lambda pin: pin.session)
            if first.session + 1 == second.session and not _one_visit(problem, first, second):
                yield Reason("pins_running", (one.person,), (first.session, second.session), (one.hide,))


def _sorted(pairs: Iterable[tuple[int, int]]) -> set[tuple[int, ...]]:
    return {tuple(sorted(pair)) for pair in pairs}


def _one_visit(problem: Problem, first: Pin, second: Pin) -> bool:
    firsts = visit_firsts(problem, first.person, first.hide, problem.stays)
    return firsts[first.session] == firsts[second.session]


def _pinned_numbers(problem: Problem) -> Iterator[Reason]:
    pins = _free_pins(problem)
    for session in open_sessions(problem):
        hides = sorted({pin.hide for pin in pins if pin.session == session})
        limit = problem.open_hides_at_once
        if limit is not None and len(hides) > limit:
            people = tuple(sorted(pin.person for pin in pins if pin.session == session))
            yield Reason("pins_open_at_once", people, (session,), tuple(hides), (("open", len(hides)), ("most", limit)))
        for hide in hides:
            people = tuple(sorted(pin.person for pin in pins if (pin.session, pin.hide) == (session, hide)))
            seats = problem.capacity(session, hide)
            if seats == 2 and people[0] == LEADER and (session, hide) in problem.shared:
                seats = 1  # the leader holds the only seat, and hands over none
            if len(people) > seats and (session, hide) not in problem.closed:
                yield Reason("pins_seats", people, (session,), (hide,), (("people", len(people)), ("seats", seats)))
    most = problem.visits_at_most
    if most is None or visits_may_join(problem):
        return
    for person in range(len(problem.people)):
        for hide in range(len(problem.hides)):
            when = tuple(pin.session for pin in pins if (pin.person, pin.hide) == (person, hide))
            if len(when) > most:
                figures = (("pins", float(len(when))), ("most", float(most)))
                yield Reason("pins_visits", (person,), when, (hide,), figures)


PIN_RULES = (_pins_against_states, _pins_to_one_seat, _pins_against_rules, _pinned_numbers)
