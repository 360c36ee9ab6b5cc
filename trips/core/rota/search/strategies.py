"""How each great wish is searched: LP relaxation, local search, then neighbourhoods or one model of the whole."""

from dataclasses import dataclass, replace

import numpy as np

from trips.core.rota.model.group_wishes import PairsMet
from trips.core.rota.model.share_wishes import LiftedShares, TotalOfShares, WorstShare
from trips.core.rota.model.space import SCALE, Draft, Space
from trips.core.rota.model.wishes import RotaWish
from trips.core.rota.search.bound import BranchAndBound
from trips.core.rota.search.first_plan import rounded_draft
from trips.core.rota.search.local.local_search import LocalSearch, Penalty
from trips.core.rota.search.local.pair_meetings import Floors, PairTabuSearch
from trips.core.rota.search.lp_relaxation import LpRelaxation
from trips.core.rota.search.lp_solve import LpSolution, PendingLp, solve_lp
from trips.core.rota.search.neighbourhood_search import NeighbourhoodSearch, SearchSettings

# Open cells at which another way wins, by trial on the sizes in tests/core/rota/data with two cores.
_SMALL = 60  # 6x4x8 (48 cells) is proved as a whole at once; 8x5x10 (80) is not
_MIDDLE = 100  # 8x5x10 has few ways up and many dead ends, so several starts win; 10x6x12 (120) wants one long search
_BRANCHED = 130  # at 10x6x12 branching still lowers the LP bound in the time there is; at 12x6x12 (144) no more
# In the middle both are tried: neighbourhoods find better drafts, one model of the whole may prove the best. A quarter
# of the work, and a fifth for each of two solvers, are together a third of what the model alone may use.
_MIDDLE_NEIGHBOURHOODS, _MIDDLE_WHOLE = 0.25, 0.2
_STARTS = 2  # with the usual work; more work makes more and longer ones
_USUAL_WORK = 6.0  # deterministic seconds for the worst share at the default effort
_NODES = 100  # of a branch and bound beside the usual work: most of its time goes into the cuts before the first branch
_BESIDE = 0.95  # of the work of one long search, where a branch and bound runs beside it
_MORE_NODES = 500  # for each deterministic second above it
_FLOOR_ABOVE = 2e-5  # of a share: how much better than the draft is worth looking for
_SEED_STEP = 1_000_003  # between the seeds of two starts: a prime far above the number of tasks of one start
_ROUNDS = 60  # of a local search: a guard, as it ends by itself once no move helps
_STEPS = 400  # of a tabu search that a deterministic second stands for, as the search counts no work of its own
# people² x sessions x hides up to which one model proves anything: 16 people in 4 x 5 (5,120), not 15 in 5 x 7 (7,875)
_FEW_MEETINGS = 6_000
_FLOOR_ROUNDING = 1e-7  # of a share, one whole-number unit: the LP's floor lies below that of whole numbers
_ABOVE_BOUND = 0.005  # of a share: nobody reaches this target, so those near the bound are pulled up too
_TOTAL_PENALTY = 1e7  # squared shortfall: a share 0.001 below its floor costs as much as ten whole shares of the total
_MIXED_WEIGHTS = 0.5  # half by the LP's duals (who holds the optimum back), half alike (the LP may be wrong about who)


@dataclass(frozen=True, slots=True)
class _StartWork:
    """Deterministic seconds of one start: for each neighbourhood, for lifting all low shares, for the lowest alone."""

    each: float
    lifting: float
    worst: float


# Short neighbourhoods look at more places, which the first two starts need; later ones have the work to look deeper.
_FIRST_STARTS, _LATER_STARTS = _StartWork(0.1, 1.2, 2.4), _StartWork(0.4, 1.8, 6.0)


@dataclass(frozen=True, slots=True)
class StageEnd:
    """`bound` in whole-number shares; None where nothing better than the wish's ideal is known."""

    proved: bool
    bound: float | None


def raise_worst_share(
    search: NeighbourhoodSearch, pending: PendingLp | None, work: float
) -> tuple[WorstShare, StageEnd]:
    """Raise the worst share; the wish comes back with the target that it was searched with.

    `pending`: its LP relaxation, if one is under way that holds no wish; else one that holds all earlier ones is made.
    """
    space = search.space
    if pending is None:
        pending = PendingLp(lambda: LpRelaxation(space, limits=search.limits))
    lp = pending.wait(search.stop)
    ideal = float(WorstShare().ideal(space))
    bound = lp.bound * SCALE if lp.status == "optimal" else ideal
    wish = WorstShare(round(min(bound, ideal)))
    penalty = _below_bound(space, lp)
    if lp.status == "optimal":
        rounded = rounded_draft(space, lp.lp_values, search.seed, search.stop)
        for draft in (rounded, search.draft):
            if draft is not None:
                search.accept(draft, wish)
                search.accept(_polished(search, penalty, draft), wish)
    settings = SearchSettings(lp, bound, 2 * space.sessions, lambda draft: _polished(search, penalty, draft))
    return wish, search_by_size(search, wish, work, settings)


def raise_total(search: NeighbourhoodSearch, work: float, floor: int) -> tuple[TotalOfShares, StageEnd]:
    """Raise the total while nobody falls below the floor."""
    space, wish = search.space, TotalOfShares()
    lp = solve_lp(LpRelaxation(space, floor / SCALE - _FLOOR_ROUNDING, search.limits), search.stop)
    bound = lp.bound * SCALE if lp.status == "optimal" else float(wish.ideal(space))
    penalty = Penalty(floor / SCALE, np.full(space.people, _TOTAL_PENALTY), 1.0)
    search.accept(_polished(search, penalty, search.draft), wish)
    rounding = 2 * space.sessions * len(space.counted)
    settings = SearchSettings(lp, bound, rounding, lambda draft: _polished(search, penalty, draft))
    return wish, search_by_size(search, wish, work, settings)


def meet_pairs(search: NeighbourhoodSearch, work: float) -> tuple[PairsMet, StageEnd]:
    """Let pairs meet: by tabu search, and in small rotas by a model of the whole."""
    space, wish = search.space, PairsMet()
    held = {type(limited): limit for limited, limit in search.limits}
    floors = Floors(held.get(WorstShare, -SCALE * 100), held.get(TotalOfShares, -SCALE * 10_000))  # none held: no floor
    ideal = wish.ideal(space)
    settings = SearchSettings(LpSolution("unknown"), ideal)
    if not settings.bound_reached(wish, search):
        tabu = PairTabuSearch(space, search.draft, floors, search.seed)
        search.accept(tabu.search(round(work * _STEPS), ideal, search.allows, search.stop.now), wish)
    size = space.people**2 * space.sessions * space.hides
    if not settings.bound_reached(wish, search) and size <= _FEW_MEETINGS and not search.stop.now():
        proved, known = search.solve_whole(wish, work)
        return wish, StageEnd(proved, min(float(ideal), known) if known is not None else float(ideal))
    return wish, StageEnd(settings.bound_reached(wish, search), float(ideal))


def _below_bound(space: Space, lp: LpSolution) -> Penalty:
    """The squared distance below the LP's bound, those weighing more whose share costs the others most."""
    if lp.status != "optimal" or not lp.duals:
        return Penalty(1.0, np.ones(space.people))
    duals = np.array(lp.duals) * max(1, len(space.counted))  # they sum to 1; so their mean is 1
    return Penalty(lp.bound + _ABOVE_BOUND, _MIXED_WEIGHTS + (1.0 - _MIXED_WEIGHTS) * duals)


def _polished(search: NeighbourhoodSearch, penalty: Penalty, draft: Draft) -> Draft:
    local = LocalSearch(search.space, draft, penalty)
    local.descend(_ROUNDS, search.stop.now)
    return local.result()


def search_by_size(search: NeighbourhoodSearch, wish: RotaWish, work: float, settings: SearchSettings) -> StageEnd:
    """Neighbourhoods and one model of the whole, in the order and with the work that suit the number of open cells."""
    bound = settings.bound
    if settings.bound_reached(wish, search):
        return StageEnd(True, bound)
    cells = len(search.space.open_cells())
    if cells > _SMALL and isinstance(wish, WorstShare):
        return _raise_worst_by_size(search, wish, work, settings)
    middle = _SMALL < cells <= _MIDDLE
    if cells > _SMALL:
        search.search_neighbourhoods(wish, work * _MIDDLE_NEIGHBOURHOODS if middle else work, settings)
    if cells > _SMALL and (settings.bound_reached(wish, search) or search.stop.now()):
        return StageEnd(settings.bound_reached(wish, search), bound)
    if cells > _MIDDLE:
        return StageEnd(False, bound)
    proved, known = search.solve_whole(wish, work * _MIDDLE_WHOLE if middle else work)
    if known is not None and bound is not None:
        bound = min(bound, known)
    return StageEnd(proved, bound)


def _raise_worst_by_size(
    search: NeighbourhoodSearch, wish: WorstShare, work: float, settings: SearchSettings
) -> StageEnd:
    """The worst share of a rota that is too large for one model; beside it, where it helps, a better bound."""
    cells = len(search.space.open_cells())
    if cells > _BRANCHED:
        search.search_neighbourhoods(wish, work, settings)
        return StageEnd(settings.bound_reached(wish, search), settings.bound)
    from_starts = _from_several_starts if cells <= _MIDDLE else _from_one_start
    relaxation = LpRelaxation(search.space, limits=search.limits)
    first = min(work, _USUAL_WORK)
    branching = [BranchAndBound.start(relaxation, max(1, round(_NODES * first / _USUAL_WORK)), search.stop)]
    from_starts(search, wish, first, settings, 0)
    if work > first and not search.stop.now():
        floor = wish.value(search.space, search.draft) / SCALE + _FLOOR_ABOVE
        branching.append(BranchAndBound.start(relaxation, round(_MORE_NODES * (work - first)), search.stop, floor))
        from_starts(search, wish, work - first, settings, _STARTS)
    for known in [under_way.wait(search.stop) for under_way in branching]:
        if known is not None and settings.bound is not None:
            settings = replace(settings, bound=min(settings.bound, known * SCALE))
    return StageEnd(settings.bound_reached(wish, search), settings.bound)


def _from_one_start(
    search: NeighbourhoodSearch, wish: WorstShare, work: float, settings: SearchSettings, _: int
) -> None:
    """Go on from the draft that is there, with what the branching beside it leaves of the work."""
    search.search_neighbourhoods(wish, work * _BESIDE, settings)


def _from_several_starts(
    search: NeighbourhoodSearch, wish: WorstShare, work: float, settings: SearchSettings, begun_before: int
) -> None:
    """Begin in several places, each time by way of all low shares: such rotas have few ways up, and dead ends."""

    def on_better(draft: Draft) -> None:
        search.accept(draft, wish)

    start_work = _LATER_STARTS if begun_before else _FIRST_STARTS
    starts = max(1, round(work / (start_work.lifting + start_work.worst))) if begun_before else _STARTS
    scale, begun = min(1.0, work / _USUAL_WORK), search.draft
    for start in range(begun_before, begun_before + starts):
        if search.stop.now():
            return
        seed = search.seed + _SEED_STEP * start
        rounded = rounded_draft(search.space, settings.lp.lp_values, seed, search.stop) if start else None
        if rounded is not None and settings.polish is not None:
            begun = settings.polish(rounded)
        other = NeighbourhoodSearch(
            search.space, begun, seed, search.stop, on_better, search.seats_leader, search.limits
        )
        ours = replace(settings, work_each=start_work.each)
        other.search_neighbourhoods(LiftedShares(wish.target), start_work.lifting * scale, ours)
        other.search_neighbourhoods(wish, start_work.worst * scale, ours)
