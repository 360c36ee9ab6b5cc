"""Visits: which turns of one person in one hide count as one, and how many visits a person may make.

The joined sessions of an all-day hide are one visit, and so are two sessions with a stay through the break between
them.
"""

from collections.abc import Iterable
from itertools import pairwise

from trips.core.rota.problem.presence import Fixed
from trips.core.rota.problem.values import Problem, Triple, Turn


def visit_firsts(problem: Problem, person: int, hide: int, stays: frozenset[Triple]) -> list[int]:
    """Session by session the first one of the visit that a turn of that person there belongs to.

    `stays`: (person, session, hide) after which the person keeps the seat through the break.
    """
    firsts = list(range(len(problem.sessions)))
    for first, second in pairwise(firsts[:]):
        if (person, first, hide) in stays:
            firsts[second] = firsts[first]
    for where, sessions in problem.joined:
        if where == hide:
            roots = {firsts[session] for session in sessions}
            firsts = [min(roots) if first in roots else first for first in firsts]
    return firsts


def visits(problem: Problem, turns: Iterable[Turn]) -> tuple[tuple[Turn, ...], ...]:
    """One person's turns grouped into visits, in order of their first session."""
    ordered = sorted(turns, key=lambda turn: turn.session)
    stays = problem.stays | {(turn.person, turn.session, turn.hide) for turn in ordered if turn.stays}
    firsts: dict[int, list[int]] = {}
    groups: dict[tuple[int, int], list[Turn]] = {}
    for turn in ordered:
        if turn.hide not in firsts:
            firsts[turn.hide] = visit_firsts(problem, turn.person, turn.hide, stays)
        groups.setdefault((turn.hide, firsts[turn.hide][turn.session]), []).append(turn)
    return tuple(tuple(group) for group in groups.values())


def visits_of(problem: Problem, fixed: Fixed) -> dict[Triple, int]:
    """(person, session, hide) -> first session of its visit, where that is not the session itself."""
    stays = fixed.stays()
    if not stays and not problem.joined:
        return {}
    return {
        (person, session, hide): first
        for person in range(len(problem.people))
        for hide in range(len(problem.hides))
        for session, first in enumerate(visit_firsts(problem, person, hide, stays))
        if first != session
    }


def visit_limits(problem: Problem, fixed: Fixed, visit_of: dict[Triple, int]) -> list[list[int]]:
    """The most visits of a person to a hide; what is fixed already may exceed the rule."""
    limit = len(problem.sessions) if problem.visits_at_most is None else problem.visits_at_most
    begun: dict[tuple[int, int], set[int]] = {}
    for (person, session), turn in fixed.turns.items():
        visit = visit_of.get((person, session, turn.hide), session)
        begun.setdefault((person, turn.hide), set()).add(visit)
    hides = range(len(problem.hides))
    return [[max(limit, len(begun.get((p, h), ()))) for h in hides] for p in range(len(problem.people))]
