"""The smallest changes that would resolve a conflict: each is tried, and only those that do are offered."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from trips.core.rota.explain.conflicts import Conflict, Help, Reason
from trips.core.rota.problem.presence import open_sessions
from trips.core.rota.problem.values import RAISED_BY, Problem, ProblemHide, ProblemSeat

MOST_RESTS = 3  # in a session: with more the leader plans another trip
MOST_RAISED = 3  # further visits or sessions that are tried: a limit raised by more is another trip
MOST_ALIKE = 3  # offers of one kind about different people
# What is left out first when a smaller conflict is looked for: what only leaders may read, then what is easily changed.
FIRST_OUT = (
    "apart",
    "one_piece",
    "half_together",
    "helper",
    "together",
    "pin",
    "stay",
    "minimum",
    "open_at_once",
    "twice_running",
    "consecutive_turns",
    "joined",
    "visits_at_most",
    "rests",
    "guests_last",
    "cannot",
    "closed",
    "capacity",
    "turn",
)
SEATING = frozenset(
    (
        "seats",
        "seats_open_at_once",
        "few_hides",
        "no_hide",
        "capacity",
        "turn",
        "pins_seats",
        "pair_fits_nowhere",
        "apart_hides",
    )
)


@dataclass(frozen=True, slots=True)
class Trial:
    """A problem with one change, tried whether it resolves the conflict; `help`: what the change is called."""

    help: Help
    problem: Problem


def helps_for(problem: Problem, conflict: Conflict, resolves: Callable[[Problem], bool]) -> tuple[Help, ...]:
    """The changes that resolve the conflict by themselves; alike ones in other hides are told in one choice."""
    found: dict[tuple[object, ...], Help] = {}
    settled: set[tuple[object, ...]] = set()
    alike: dict[str, int] = {}
    for trial in _trials(problem, conflict):
        offer = trial.help
        kind = (offer.change, offer.people, offer.sessions)
        if offer.change in ("rest", *RAISED_BY) and kind in settled:
            continue
        if kind not in found and alike.get(offer.change, 0) >= MOST_ALIKE:
            continue
        if not resolves(trial.problem):
            continue
        settled.add(kind)
        alike[offer.change] = alike.get(offer.change, 0) + (kind not in found)
        known = found.get(kind)
        hides = offer.hides if known is None else tuple(sorted({*known.hides, *offer.hides}))
        found[kind] = replace(offer, hides=hides)
    return tuple(found.values())


def _trials(problem: Problem, conflict: Conflict) -> Iterator[Trial]:
    rules = {reason.rule for reason in conflict.reasons}
    named = {session for reason in conflict.reasons for session in reason.sessions}
    sessions = tuple(session for session in open_sessions(problem) if session in named)
    if rules & SEATING:
        short = [int(number) for reason in conflict.reasons for name, number in reason.figures if name == "short"]
        yield from _rests(problem, sessions, short or range(1, MOST_RESTS + 1))
        yield from _seats(problem, sessions)
    seen: set[Help] = set()
    for reason in conflict.reasons:
        for maker in _BY_RULE.get(reason.rule, ()):
            for trial in maker(problem, reason, sessions):
                if trial.help not in seen:
                    seen.add(trial.help)
                    yield trial


def _rests(problem: Problem, sessions: tuple[int, ...], numbers: Sequence[int]) -> Iterator[Trial]:
    """So many more rests than are allowed."""
    for number in numbers:
        allowed = tuple(
            problem.rests(session) + (number if session in sessions else 0) for session in range(len(problem.sessions))
        )
        further = (("further", 1),) if any(problem.rests(session) for session in sessions) else ()
        offer = Help("rest", (), sessions, (), (("people", number), *further))
        yield Trial(offer, replace(problem, rests_allowed=allowed))


def _more_rests(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    yield from _rests(problem, sessions, range(1, MOST_RESTS + 1))


def _seats(problem: Problem, sessions: tuple[int, ...]) -> Iterator[Trial]:
    for hide, value in enumerate(problem.hides):
        here = frozenset((session, hide) for session in sessions)
        if value.seats and not here & problem.shared and not here <= problem.closed:
            shared = problem.shared | (here - problem.closed)
            yield Trial(Help("share_seat", (), sessions, (hide,)), replace(problem, shared=shared))
    for hide, value in enumerate(problem.hides):
        if not {(session, hide) for session in sessions} <= problem.closed:
            roomier = replace(value, seats=(*value.seats, ProblemSeat("+1")))
            yield Trial(Help("add_seat", (), sessions, (hide,)), _with_hide(problem, hide, roomier))
    yield from _openings(problem, Reason(""), sessions)


def _with_hide(problem: Problem, hide: int, value: ProblemHide) -> Problem:
    return replace(problem, hides=(*problem.hides[:hide], value, *problem.hides[hide + 1 :]))


def _openings(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    """Only hides that could still be made ready in time."""
    for hide in range(len(problem.hides)):
        here = frozenset((session, hide) for session in sessions or range(len(problem.sessions)))
        opened = here & problem.closed & problem.possible
        if opened and (not reason.hides or hide in reason.hides):
            when = tuple(sorted(session for session, _ in opened))
            yield Trial(Help("open_hide", (), when, (hide,)), replace(problem, closed=problem.closed - opened))


def _raised(change: str, numbers: Callable[[Problem, int], Iterable[int]]) -> "_Maker":
    """A limit of the trip raised to these numbers, smallest first; `numbers(problem, limit)`."""

    def raised(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
        name = RAISED_BY[change]
        for number in numbers(problem, getattr(problem, name) or 0):
            limit: dict[str, Any] = {name: number}
            yield Trial(Help(change, (), (), (), (("most", number),)), replace(problem, **limit))

    return raised


def _unpin(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    for pin in problem.pins:
        if pin.person in reason.people and pin.session in reason.sessions and pin.hide in reason.hides:
            others = tuple(other for other in problem.pins if other is not pin)
            yield Trial(Help("unpin", (pin.person,), (pin.session,), (pin.hide,)), replace(problem, pins=others))


def _end_stay(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    stays = {stay for stay in problem.stays if stay[0] not in reason.people or stay[1] not in reason.sessions}
    offer = Help("end_stay", reason.people, reason.sessions, reason.hides)
    yield Trial(offer, replace(problem, stays=frozenset(stays)))


def _part(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    pair = tuple(sorted(reason.people))

    def without(pairs: tuple[tuple[int, int], ...]) -> tuple[tuple[int, int], ...]:
        return tuple(other for other in pairs if tuple(sorted(other)) != pair)

    loose = replace(problem, together=without(problem.together), helpers=without(problem.helpers))
    yield Trial(Help("let_sit_apart", pair), loose)


def _half(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    pairs = tuple(pair for pair in problem.half_together if tuple(sorted(pair)) != tuple(sorted(reason.people)))
    yield Trial(Help("less_together", tuple(sorted(reason.people))), replace(problem, half_together=pairs))


def _let_meet(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    for pair in problem.apart:
        if set(pair) <= set(reason.people):
            pairs = tuple(other for other in problem.apart if other != pair)
            yield Trial(Help("apart_may_meet", tuple(sorted(pair))), replace(problem, apart=pairs))


def _let_go(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    """One of the two does without the piece; then who is left without it may no longer sit everywhere."""
    then = tuple(session for session in reason.sessions if (*reason.people, session) in problem.sharers)
    left = problem.sharers - {(*reason.people, session) for session in then}
    yield Trial(Help("end_sharing", reason.people, then), replace(problem, sharers=left))


def _fewer(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    (hide,) = reason.hides
    for minimum in range(problem.hides[hide].minimum_people - 1, 0, -1):
        value = replace(problem.hides[hide], minimum_people=minimum)
        yield Trial(Help("lower_minimum", (), (), (hide,), (("minimum", minimum),)), _with_hide(problem, hide, value))


def _running(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    yield Trial(Help("allow_running"), replace(problem, never_twice_running=False))


def _part_sessions(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    joined = tuple(group for group in problem.joined if group[0] not in reason.hides)
    yield Trial(Help("part_sessions", (), reason.sessions, reason.hides), replace(problem, joined=joined))


def _lift_limit(problem: Problem, reason: Reason, sessions: tuple[int, ...]) -> Iterator[Trial]:
    for person in reason.people:
        for hide in range(len(problem.hides)):
            then = {(who, s, h) for who, s, h in problem.cannot_then if (who, h) == (person, hide)}
            cannot = (person, hide) in problem.cannot or then
            if cannot and (reason.rule != "cannot" or hide in reason.hides):
                lifted = replace(
                    problem,
                    cannot=problem.cannot - {(person, hide)},
                    cannot_then=problem.cannot_then - then,
                )
                yield Trial(Help("lift_limit", (person,), (), (hide,)), lifted)


_Maker = Callable[[Problem, Reason, tuple[int, ...]], Iterator[Trial]]
_more_hides = _raised("more_hides", lambda problem, most: range(most + 1, len(problem.hides) + 1))
_more_visits = _raised("more_visits", lambda _, most: range(most + 1, most + 1 + MOST_RAISED))
_more_in_a_row = _raised(  # a little more first, then the whole trip
    "more_in_a_row", lambda problem, most: sorted({*range(most + 1, most + 1 + MOST_RAISED), len(problem.sessions)})
)
_BY_RULE: dict[str, tuple[_Maker, ...]] = {
    "seats_open_at_once": (_more_hides,),
    "pins_open_at_once": (_more_hides, _unpin),
    "open_at_once": (_more_hides,),
    "visits": (_more_visits,),
    "visits_at_most": (_more_visits,),
    "pins_visits": (_more_visits, _unpin),
    "pin": (_unpin,),
    "stay": (_end_stay,),
    "pin_closed": (_unpin, _openings),
    "pin_absent": (_unpin,),
    "pin_cannot": (_unpin, _lift_limit),
    "pin_seat_out": (_unpin,),
    "pin_left": (_unpin,),
    "pins_seats": (_unpin,),
    "pins_one_seat": (_unpin,),
    "pins_apart": (_unpin, _let_meet),
    "pins_together": (_unpin, _part),
    "pins_running": (_unpin, _running),
    "together_and_apart": (_part, _let_meet),
    "together": (_part,),
    "helper": (_part,),
    "pair_fits_nowhere": (_part, _lift_limit),
    "half_together": (_half,),
    "apart": (_let_meet,),
    "one_piece": (_let_go,),
    "pins_one_piece": (_unpin, _let_go),
    "apart_hides": (_let_meet, _more_hides, _openings),
    "minimum": (_fewer,),
    "twice_running": (_running,),
    "consecutive_turns": (_more_in_a_row,),
    "rests_in_a_row": (_more_rests, _more_in_a_row),
    "joined": (_part_sessions,),
    "closed": (_openings,),
    "cannot": (_lift_limit,),
    "no_hide": (_lift_limit,),
    "few_hides": (_lift_limit,),
}
