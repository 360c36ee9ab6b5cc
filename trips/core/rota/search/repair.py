"""Fewest changes to an issued rota: each session's own least number is a bound, and mostly the answer.

Sessions tie only through visits and the like. If the sessions' least numbers together suffice for the whole rota, then
every best repair makes exactly so many changes in each, and sessions that need none stay as they are.
"""

from dataclasses import replace

from trips.core.rota.model.cp_sat import Task, solve_tasks
from trips.core.rota.model.rules import rota_model
from trips.core.rota.model.space import NONE, OUT, Cell, Draft, Space
from trips.core.rota.model.wishes import Changes, issued_cells, issued_places
from trips.core.rota.search.first_plan import blocks
from trips.core.rota.search.leader_seat import seat_leader_where_settled
from trips.core.rota.search.lp_solve import LpSolution
from trips.core.rota.search.neighbourhood_search import NeighbourhoodSearch, SearchSettings
from trips.core.rota.search.strategies import StageEnd, search_by_size

_BLOCK_WORK = 2.0  # deterministic seconds: four times what a first plan gets, as the number has to be proved


def fewest_changes(search: NeighbourhoodSearch, work: float) -> tuple[Changes, StageEnd]:
    """Fewest changes; where sessions prove that one by one, the later stages search in the changed ones alone."""
    space, wish = search.space, Changes()
    least = _least_by_block(search)
    bound = sum(number for _, number in least)
    touched = {session for sessions, number in least if number for session in sessions}
    narrow = _narrowed(space, touched)
    if narrow is not None and not search.stop.now():
        _solve_within(search, narrow, wish, work)
    if wish.value(space, search.draft) > bound:
        end = search_by_size(search, wish, work, SearchSettings(LpSolution("unknown"), float(bound)))
        known = end.bound if end.bound is not None else bound
        return wish, StageEnd(end.proved, float(max(bound, known)))
    if narrow is not None and space.problem.repair == "fewest":
        search.space = narrow
        if search.seats_leader:
            search.draft = seat_leader_where_settled(narrow, search.draft)
    return wish, StageEnd(True, float(bound))


def _solve_within(search: NeighbourhoodSearch, narrow: Space, wish: Changes, work: float) -> None:
    """The touched sessions together, all others as issued; they are in the model too, as some rules tie them."""
    draft = _as_issued(search.space, search.draft)
    inner = replace(search, space=narrow, draft=draft)
    model = rota_model(narrow, draft, narrow.planned_cells(), seats_leader=search.seats_leader)
    for earlier, limit in search.limits:
        earlier.require(model, limit)
    model.cp.minimize(wish.express(model))
    model.hint(search.draft)
    found = solve_tasks([Task(model, work, search.seed)], search.stop)[0]
    if found.draft is not None and inner.allows(found.draft):
        search.accept(found.draft, wish)


def _as_issued(space: Space, draft: Draft) -> Draft:
    """The draft with every issued turn that is still possible put back; a guest without one may go without."""
    back = draft.copy()
    for person in space.problem.guests:
        row = back.cells[person]
        row[:] = [NONE if hide == OUT and NONE in space.options[person][s] else hide for s, hide in enumerate(row)]
    for (person, session), hide in issued_places(space).items():
        if hide in space.options[person][session]:
            back.cells[person][session] = hide
    return back


def _narrowed(space: Space, touched: set[int]) -> Space | None:
    """The space with all sessions but the touched ones held as issued; None if that cannot be."""
    issued = issued_places(space)
    options = [list(row) for row in space.options]
    for (person, session), hide in issued.items():
        if session in touched:
            continue
        if hide not in options[person][session]:
            return None
        options[person][session] = (hide,)
    return replace(space, options=options)


def _least_by_block(search: NeighbourhoodSearch) -> list[tuple[list[int], int]]:
    """(sessions, least number of changes) of each block of joined sessions, alone: never more than in a whole rota."""
    space = search.space
    issued = issued_cells(space)
    back = _as_issued(space, space.empty_draft())
    found = []
    for block in blocks(space, space.planned_cells()):
        if search.stop.now():
            break  # the blocks left out count as 0, which is still a lower bound
        sessions = sorted({session for _, session in block})
        if all(_holds(space, back, issued, session) for session in sessions):
            found.append((sessions, 0))
        else:
            found.append((sessions, _least_changes(search, block)))
    return found


def _least_changes(search: NeighbourhoodSearch, block: frozenset[Cell]) -> int:
    """The least number of changes within a block, no other session planned."""
    space = search.space
    issued = issued_cells(space)
    model = rota_model(space, space.empty_draft(), block, whole=False)
    kept = [model.term(p, s, issued[p, s]) for p, s in sorted(block) if (p, s) in issued]
    model.cp.minimize(len(kept) - model.expr.sum(kept))
    found = solve_tasks([Task(model, _BLOCK_WORK, search.seed)], search.stop)[0]
    return max(0, round(found.bound)) if found.status in ("optimal", "feasible", "unknown") else 0


def _holds(space: Space, draft: Draft, issued: dict[Cell, int], session: int) -> bool:
    """Whether the issued turns of a session still keep the rules that the session alone decides."""
    people = range(space.people)
    hides = [draft.cells[person][session] for person in people]
    if any(
        hide not in space.options[p][session] or issued.get((p, session), hide) != hide for p, hide in enumerate(hides)
    ):
        return False
    if any(
        hide >= 0 and ((session, hide) in space.joined_of or (session, hide) in space.problem.shared) for hide in hides
    ):
        return False
    if any(hides[p] != hides[space.party_of.get((p, session), p)] for p in people):
        return False
    if any(
        hides[one] == hides[other] >= 0 and not space.is_fixed(session, hides[one])
        for one, other in space.problem.apart
    ):
        return False
    if any(
        when == session and _parted(space, session, hides[one], hides[other])
        for one, other, when in space.problem.sharers
    ):
        return False
    guests = space.problem.guests
    resting = sum(hide == NONE and person not in guests for person, hide in enumerate(hides))
    if resting and any(hides[guest] >= 0 for guest in guests):
        return False  # whether a guest sits where somebody rests is left to the model
    return resting <= space.problem.rests(session) and _hides_hold(space, hides, session)


def _parted(space: Space, session: int, one: int, other: int) -> bool:
    """Whether two people sit in different hides, neither of which is fixed."""
    return one != other and min(one, other) >= 0 and not any(space.is_fixed(session, hide) for hide in (one, other))


def _hides_hold(space: Space, hides: list[int], session: int) -> bool:
    opened = {hide for hide in hides if hide >= 0}
    fits = all(
        space.is_fixed(session, hide) or space.least[session][hide] <= hides.count(hide) <= space.room[session][hide]
        for hide in opened
    )
    must_open = all(hide in opened for when, hide in space.must_open if when == session)
    return fits and must_open and len(opened) <= space.open_limit[session]
