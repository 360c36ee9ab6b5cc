"""Turns grouped into visits, as the checker counts them: the connected components of turns linked in pairs."""

from collections.abc import Iterable

from trips.core.rota.problem.values import Problem, Turn

Visit = tuple[Turn, ...]


def group_visits(problem: Problem, turns: Iterable[Turn]) -> tuple[Visit, ...]:
    """One person's turns as visits, in order of their first session; the turns of a visit in order of sessions."""
    visits: list[list[Turn]] = []
    for turn in turns:
        linked = [visit for visit in visits if any(_are_linked(problem, turn, other) for other in visit)]
        apart = [visit for visit in visits if visit not in linked]
        visits = [*apart, [turn, *(other for visit in linked for other in visit)]]
    in_order = [tuple(sorted(visit, key=lambda turn: turn.session)) for visit in visits]
    return tuple(sorted(in_order, key=lambda visit: (visit[0].session, visit[0].hide)))


def _are_linked(problem: Problem, one: Turn, other: Turn) -> bool:
    """Whether two turns of a person belong to one visit: by an all-day hide, or by a stay through the break."""
    if one.hide != other.hide:
        return False
    first, second = (one, other) if one.session <= other.session else (other, one)
    stays = first.stays or (first.person, first.session, first.hide) in problem.stays
    if stays and second.session == first.session + 1:
        return True
    both = {first.session, second.session}
    return any(hide == first.hide and both <= set(sessions) for hide, sessions in problem.joined)
