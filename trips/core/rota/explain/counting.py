"""Conflicts that counting finds without any search: pins, pairs, seats and rests against people, reach, visits.

In a repair all is counted in what is left to plan: nobody whose car has left, and none of their hides.
"""

from collections.abc import Callable, Iterable, Iterator

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.explain.pins import PIN_RULES, pins_too_late, visits_may_join
from trips.core.rota.problem.presence import Fixed, fixed_part, left_to_plan, open_sessions
from trips.core.rota.problem.values import Problem

Edges = dict[int, list[int]]


def count_conflicts(problem: Problem) -> tuple[Reason, ...]:
    """Every conflict found by counting, each enough by itself; the same one in several sessions is named once."""
    fixed = fixed_part(problem)
    left = left_to_plan(problem, fixed)
    found = [*_pairs(left), *pins_too_late(problem, fixed)]
    for rule in (*PIN_RULES, _seats, _groups, _apart, _visits, _rests_in_a_row):
        found += rule(left)
    return _merged(found)


def needing_turns(problem: Problem, session: int) -> tuple[int, ...]:
    """The people present who need a turn or a rest then: all but guests."""
    return tuple(person for person in problem.present(session) if person not in problem.guests)


def _merged(found: Iterable[Reason]) -> tuple[Reason, ...]:
    sessions: dict[tuple[object, ...], set[int]] = {}
    for reason in found:
        sessions.setdefault((reason.rule, reason.people, reason.hides, reason.figures), set()).update(reason.sessions)
    return tuple(
        Reason(rule, people, tuple(sorted(when)), hides, figures)  # type: ignore[arg-type]
        for (rule, people, hides, figures), when in sessions.items()
    )


def _pairs(problem: Problem) -> Iterator[Reason]:
    for pair in problem.together + problem.helpers:
        if tuple(sorted(pair)) in {tuple(sorted(other)) for other in problem.apart}:
            both = tuple(s for s in open_sessions(problem) if _must_sit(problem, s, pair))
            if both:
                yield Reason("together_and_apart", tuple(sorted(pair)), both)


def _must_sit(problem: Problem, session: int, pair: tuple[int, int]) -> bool:
    """Whether both are there and cannot both do without a turn."""
    both_there = {(person, session) for person in pair}.isdisjoint(problem.absent)
    return both_there and len(set(pair) - problem.guests) > problem.rests(session)


def _seats(problem: Problem) -> Iterator[Reason]:
    """Seats against people, first over all hides, then within the open-hides rule, then by who can sit where."""
    fixed = fixed_part(problem)
    for session in open_sessions(problem):
        people, rests = needing_turns(problem, session), problem.rests(session)
        seats = sorted((problem.capacity(session, hide) for hide in range(len(problem.hides))), reverse=True)
        gone = len(fixed.gone(session))
        figures = (("people", len(people)), ("rests", rests), *((("gone", gone),) if gone else ()))
        short = len(people) - rests - sum(seats)
        limit = _hides_left(problem, session, fixed)
        if short > 0:
            yield Reason("seats", (), (session,), (), (*figures, ("seats", sum(seats)), ("short", short)))
            continue
        if limit is not None and len(people) - rests > sum(seats[:limit]):
            short = len(people) - rests - sum(seats[:limit])
            more = (("seats", sum(seats[:limit])), ("short", short), ("most", limit))
            yield Reason("seats_open_at_once", (), (session,), (), (*figures, *more))
            continue
        yield from _within_reach(problem, session, people)


def _hides_left(problem: Problem, session: int, fixed: Fixed) -> int | None:
    """How many hides may open besides those whose car has left; None for any number."""
    most = problem.open_hides_at_once
    return None if most is None else max(0, most - len(fixed.opened(session)))


def _within_reach(problem: Problem, session: int, people: tuple[int, ...]) -> Iterator[Reason]:
    hides = range(len(problem.hides))
    edges = {person: [hide for hide in hides if problem.may_sit(person, session, hide)] for person in people}
    room = {hide: problem.capacity(session, hide) for hide in hides}
    rests = problem.rests(session)
    for group in _short_groups(edges, room, rests):
        reachable = tuple(sorted({hide for person in group for hide in edges[person] if room[hide]}))
        seats = sum(room[hide] for hide in reachable)
        figures = (("people", len(group)), ("seats", seats), ("rests", rests), ("short", len(group) - seats - rests))
        if reachable or len(group) > 1:
            yield Reason("few_hides", group, (session,), reachable, figures)
        else:
            yield Reason("no_hide", group, (session,), tuple(hides), figures)


def _short_groups(edges: Edges, room: dict[int, int], rests: int) -> list[tuple[int, ...]]:
    """Smallest sets of people with fewer seats within their reach (plus rests) than heads."""
    without = [person for person in edges if not any(room[hide] for hide in edges[person])]
    if len(without) > rests:
        return [(person,) for person in without] if not rests else [tuple(without)]
    group = unmatched_group(edges, room, rests)
    if not group:
        return []

    def is_short(people: tuple[int, ...]) -> bool:
        return len(people) > rests + sum(room[hide] for hide in {hide for p in people for hide in edges[p]})

    return [smallest(group, is_short)]


def smallest(items: tuple[int, ...], holds: Callable[[tuple[int, ...]], bool]) -> tuple[int, ...]:
    """Leave out one item after the other as long as `holds` still does."""
    kept = items
    for item in items:
        fewer = tuple(other for other in kept if other != item)
        if holds(fewer):
            kept = fewer
    return kept


def unmatched_group(edges: Edges, room: dict[int, int], spare: int = 0) -> tuple[int, ...]:
    """People who cannot all be matched (Hall 1935), or nothing; `spare` people may stay without.

    Augmenting paths; where one fails, everybody it met shares too few places.
    """
    taken: dict[int, list[int]] = {hide: [] for hide in room}
    groups: list[set[int]] = []
    for person in edges:
        met: set[int] = {person}
        if not _augment(person, edges, room, taken, met, set()):
            groups.append(met)
    if len(groups) <= spare:
        return ()
    return tuple(sorted(set().union(*groups)))


def _augment(
    person: int, edges: Edges, room: dict[int, int], taken: dict[int, list[int]], met: set[int], tried: set[int]
) -> bool:
    for hide in edges[person]:
        if hide in tried:
            continue
        tried.add(hide)
        if len(taken[hide]) < room[hide]:
            taken[hide].append(person)
            return True
        for other in list(taken[hide]):
            met.add(other)
            if _augment(other, edges, room, taken, met, tried):
                taken[hide].remove(other)
                taken[hide].append(person)
                return True
    return False


def _groups(problem: Problem) -> Iterator[Reason]:
    """People who must sit together fit in some hide, all of them within its limits."""
    for one, other in problem.together + problem.helpers:
        pair = (min(one, other), max(one, other))
        for session in open_sessions(problem):
            if not _must_sit(problem, session, pair):
                continue
            reach = [
                hide
                for hide in range(len(problem.hides))
                if problem.may_sit(one, session, hide) and problem.may_sit(other, session, hide)
            ]
            largest = max((problem.capacity(session, hide) for hide in reach), default=0)
            if largest < 2 and all(
                any(problem.may_sit(p, session, h) for h in range(len(problem.hides))) for p in pair
            ):
                yield Reason("pair_fits_nowhere", pair, (session,), tuple(reach), (("seats", largest),))


def _apart(problem: Problem) -> Iterator[Reason]:
    """People who all keep apart from each other need as many hides as heads."""
    if len(problem.apart) < 3:
        return
    foes: dict[int, set[int]] = {}
    for one, other in problem.apart:
        foes.setdefault(one, set()).add(other)
        foes.setdefault(other, set()).add(one)
    fixed = fixed_part(problem)
    for session in open_sessions(problem):
        people = needing_turns(problem, session)
        ready = sum(1 for hide in range(len(problem.hides)) if problem.capacity(session, hide))
        most = _hides_left(problem, session, fixed)
        hides = ready if most is None else min(ready, most)
        wanted = hides + problem.rests(session) + 1
        group = mutual_group({person: foes.get(person, set()) & set(people) for person in people}, wanted)
        if group:
            figures = (("people", len(group)), ("hides", hides), ("rests", problem.rests(session)), ("short", 1))
            yield Reason("apart_hides", group, (session,), (), figures)


def mutual_group(foes: dict[int, set[int]], wanted: int, most_steps: int = 20_000) -> tuple[int, ...]:
    """`wanted` people who are all in conflict with each other, or nothing (also when it takes too many steps)."""
    steps = 0

    def grow(group: tuple[int, ...], others: set[int]) -> tuple[int, ...]:
        nonlocal steps
        steps += 1
        if len(group) == wanted:
            return group
        if len(group) + len(others) < wanted or steps > most_steps:
            return ()
        for person in sorted(others, key=lambda who: (-len(foes[who] & others), who)):
            found = grow((*group, person), others & foes[person])
            if found:
                return found
            others = others - {person}
        return ()

    return tuple(sorted(grow((), {person for person in foes if len(foes[person]) >= wanted - 1})))


def _visits(problem: Problem) -> Iterator[Reason]:
    """A person's sessions against the visits that the limit leaves them (Hall again, hides as often as allowed)."""
    most = problem.visits_at_most
    if most is None or visits_may_join(problem):
        return
    for person in range(len(problem.people)):
        if person in problem.guests:
            continue
        edges = {
            session: [hide for hide in range(len(problem.hides)) if problem.may_sit(person, session, hide)]
            for session in open_sessions(problem)
            if (person, session) not in problem.absent and not problem.rests(session)
        }
        if any(not hides for hides in edges.values()):
            continue
        room = dict.fromkeys(range(len(problem.hides)), most)

        def is_short(sessions: tuple[int, ...], edges: Edges = edges) -> bool:
            return len(sessions) > most * len({hide for session in sessions for hide in edges[session]})

        group = unmatched_group(edges, room)
        if group:
            when = smallest(group, is_short)
            hides = tuple(sorted({hide for session in when for hide in edges[session]}))
            figures = (("sessions", len(when)), ("visits", most * len(hides)), ("most", most))
            yield Reason("visits", (person,), when, hides, figures)


def _rests_in_a_row(problem: Problem) -> Iterator[Reason]:
    """Whoever is there in one session more than may follow each other needs a rest in one of them."""
    most, fixed = problem.consecutive_turns_at_most, fixed_part(problem)
    for first in range(len(problem.sessions) - most) if most is not None else ():
        row = range(first, first + (most or 0) + 1)
        left = [session for session in row if session in open_sessions(problem)]
        needing = [set(needing_turns(problem, s)) if s in left else fixed.gone(s) for s in row]
        people, rests = set.intersection(*map(set, needing)), sum(problem.rests(session) for session in left)
        if left and len(people) > rests:
            figures = (("people", len(people)), ("row", len(row)), ("rests", rests), ("short", len(people) - rests))
            yield Reason("rests_in_a_row", (), tuple(left), (), figures)
