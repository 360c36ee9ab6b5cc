"""Visits: which turns of one person in one hide count as one.

The joined sessions of an all-day hide are one visit, and so are two sessions with a stay through the break between
them.
"""

from collections.abc import Iterable
from itertools import pairwise

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
