"""How each great wish is searched: LP relaxation, local search, neighbourhoods, and proofs by models of the whole."""

import math
from dataclasses import dataclass, replace

import numpy as np

from trips.core.rota.model.group_wishes import PairsMet
from trips.core.rota.model.share_wishes import TotalOfShares, WorstShare
from trips.core.rota.model.space import SCALE, Draft, Space
from trips.core.rota.model.wishes import RotaWish
from trips.core.rota.search.bound import ACCURACY, BranchAndBound
from trips.core.rota.search.first_plan import rounded_draft
from trips.core.rota.search.local.local_search import LocalSearch, Penalty
from trips.core.rota.search.local.pair_meetings import Floors, PairTabuSearch
from trips.core.rota.search.lp_relaxation import LpRelaxation
from trips.core.rota.search.lp_solve import LpSolution, PendingLp, solve_lp
from trips.core.rota.search.neighbourhood_search import SMALL, NeighbourhoodSearch, SearchSettings

_WHOLE = 130  # open cells up to which one model of the whole proves the best, or bounds it better than the LP
_TINY = 50  # open cells up to which it does so before an LP is solved
_TINY_WORK = 0.3  # deterministic seconds for that: twice as much as any real trip of that size needs
_RACE_WORK = 0.3  # deterministic seconds of the whole model in the race: what it needs where it is the quicker one
_RACE_NODES = 600  # of the branch and bound beside it: real trips need 3 to 510
_RACE_FROM = 2.0  # deterministic seconds of a stage's work: a quick search, with less, has to end in five seconds
_FIRST_TURN = 1.0  # deterministic seconds of the whole model in the first turn
_MORE = 3.0  # times as much in each turn as in the one before
_AT_FIRST, _LATER = 0.2, 0.1  # of that work, for neighbourhoods before it: a good draft makes the proof short
_UNSETTLED = 0.4  # of the work, for neighbourhoods at the end where no proof is near
_NODES = 60  # of the branch and bound for each of those seconds: about as long, but for the cuts before the first
_STEP = 3e-5  # of a share: nobody sees less, and it is above the accuracy of a branch and bound
_LAST_WORK = 0.3  # deterministic seconds to settle what is left below that step
_NEAR = 0.006  # of a share: so little is left that one more turn may settle it
_NEAR_WORK = 5.5  # times the work, where a proof is near
_SEED_STEP = 1_000_003  # between the seeds of two turns: a prime far above the number of tasks of one turn
_ROUNDS = 60  # of a local search: a guard, as it ends by itself once no move helps
_STEPS = 400  # of a tabu search that a deterministic second stands for, as the search counts no work of its own
# people² x sessions x hides up to which one model proves anything: 16 people in 4 x 5 (5,120), not 15 in 5 x 7 (7,875)
_FEW_MEETINGS = 6_000
_FLOOR_ROUNDING = 1e-7  # of a share, one whole-number unit: the LP's floor lies below that of whole numbers
_ABOVE_BOUND = 0.005  # of a share: nobody reaches this target, so those near the bound are pulled up too
_TOTAL_PENALTY = 1e7  # squared shortfall: a share 0.001 below its floor costs as much as ten whole shares of the total
_MIXED_WEIGHTS = 0.5  # half by the LP's duals (who holds the optimum back), half alike (the LP may be wrong about who)


@dataclass(frozen=True, slots=True)
class StageEnd:
    """`bound` in whole-number shares; None where nothing better than the wish's ideal is known.

    `within`: proved but for so much, which nobody sees.
    """

    proved: bool
    bound: float | None
    within: int = 0


def is_tiny(space: Space) -> bool:
    """Whether one model of the whole proves the worst share before an LP relaxation is solved."""
    return len(space.open_cells()) <= _TINY


def raise_worst_share(
    search: NeighbourhoodSearch, pending: PendingLp | None, work: float
) -> tuple[WorstShare, StageEnd]:
    """Raise the worst share; the wish comes back with the target that it was searched with.

    `pending`: its LP relaxation, if one is under way that holds no wish; else one that holds all earlier ones is made.
    """
    space = search.space
    if is_tiny(space):
        wish = WorstShare()
        search.accept(_polished(search, Penalty(1.0, np.ones(space.people)), search.draft), wish)
        end = _settle(search, wish, min(work, _TINY_WORK), SearchSettings(LpSolution("unknown")), search.seed)
        if end.proved:
            return wish, end
    relaxation = LpRelaxation(space, limits=search.limits) if len(space.open_cells()) <= _WHOLE else None
    lp = (pending or PendingLp(lambda: relaxation or LpRelaxation(space, limits=search.limits))).wait(search.stop)
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
    settings = SearchSettings(
        lp, bound, 2 * space.sessions, lambda draft: _polished(search, penalty, draft), relaxation
    )
    return wish, search_by_size(search, wish, work, settings)


def raise_total(search: NeighbourhoodSearch, work: float, floor: int) -> tuple[TotalOfShares, StageEnd]:
    """Raise the total while nobody falls below the floor."""
    space, wish = search.space, TotalOfShares()
    relaxation = LpRelaxation(space, floor / SCALE - _FLOOR_ROUNDING, search.limits)
    lp = solve_lp(relaxation, search.stop)
    bound = lp.bound * SCALE if lp.status == "optimal" else float(wish.ideal(space))
    penalty = Penalty(floor / SCALE, np.full(space.people, _TOTAL_PENALTY), 1.0)
    search.accept(_polished(search, penalty, search.draft), wish)
    rounding = 2 * space.sessions * len(space.counted)
    settings = SearchSettings(lp, bound, rounding, lambda draft: _polished(search, penalty, draft), relaxation)
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
    if not settings.bound_reached(wish, search) and _few_meetings(space) and not search.stop.now():
        least = wish.value(space, search.draft) + 1
        proved, known = search.solve_whole(wish, least, work, search.seed)
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
    """Neighbourhoods alone, or in turns with one model of the whole, as suits the number of open cells."""
    if settings.bound_reached(wish, search):
        return StageEnd(True, settings.bound)
    _tell_bound(search, settings)
    if len(search.space.open_cells()) > _WHOLE:
        search.search_neighbourhoods(wish, work, settings)
        return StageEnd(settings.bound_reached(wish, search), settings.bound)
    return _search_and_prove(search, wish, work, settings)


def can_be_settled(search: NeighbourhoodSearch, wish: RotaWish) -> bool:
    """Whether one model of the whole is likely to say that nothing better exists."""
    if isinstance(wish, PairsMet):
        return _few_meetings(search.space)
    return len(search.space.open_cells()) <= _WHOLE


def _few_meetings(space: Space) -> bool:
    return space.people**2 * space.sessions * space.hides <= _FEW_MEETINGS


def _tell_bound(search: NeighbourhoodSearch, settings: SearchSettings) -> None:
    if search.on_bound is not None and settings.bound is not None:
        search.on_bound(search.draft, settings.bound)


def _search_and_prove(search: NeighbourhoodSearch, wish: RotaWish, work: float, settings: SearchSettings) -> StageEnd:
    """Models of the whole, and neighbourhoods before them: in turns, each with more work than the one before.

    Once the work is spent, the worst share goes on where a proof is near.
    """
    if settings.relaxation is not None and len(search.space.open_cells()) > SMALL and work >= _RACE_FROM:
        end = _race(search, wish, settings)
        if end.proved or search.stop.reached:
            return end
        settings = replace(settings, bound=end.bound)
        _tell_bound(search, settings)
    each, spent, turn = min(work, _FIRST_TURN), 0.0, 0
    while not search.stop.now() and not settings.bound_reached(wish, search):
        seed = search.seed + _SEED_STEP * turn
        if turn or len(search.space.open_cells()) > SMALL:
            search.search_neighbourhoods(wish, each * (_LATER if turn else _AT_FIRST), settings, seed)
        if search.stop.now() or settings.bound_reached(wish, search):
            break
        branched = settings.relaxation if turn else None  # at first two constraint models find better drafts
        end = _settle(search, wish, each, replace(settings, relaxation=branched), seed)
        if end.proved:
            return end
        if end.bound is not None:
            known = [end.bound, end.bound if settings.bound is None else settings.bound]
            settings = replace(settings, bound=min(known) if wish.upwards else max(known))
            _tell_bound(search, settings)
        spent, each, turn = spent + each, each * _MORE, turn + 1
        if spent + each > work and not (_is_near(search, wish, settings) and spent + each <= _NEAR_WORK * work):
            break
    unsettled = _UNSETTLED if isinstance(wish, WorstShare) else _UNSETTLED / 2
    search.search_neighbourhoods(wish, work * unsettled, settings)
    return StageEnd(settings.bound_reached(wish, search), settings.bound)


def _race(search: NeighbourhoodSearch, wish: RotaWish, settings: SearchSettings) -> StageEnd:
    """A model of the whole beside a branch and bound: most trips are proved by the one or the other."""
    assert settings.relaxation is not None
    least = wish.value(search.space, search.draft) + settings.rounding + 1
    settled, known = search.race(wish, least, _RACE_WORK, _RACE_NODES, settings.relaxation)
    value = wish.value(search.space, search.draft)
    if settled or known is None:
        return StageEnd(settled, float(value) if settled else settings.bound)
    bound = known if settings.bound is None else min(known, settings.bound)
    left = max(0, math.ceil(bound) - value)
    close = left <= round(_STEP * settings.relaxation.summed * SCALE)
    return StageEnd(close, float(value) if close else bound, left if close else 0)


def _settle(search: NeighbourhoodSearch, wish: RotaWish, work: float, settings: SearchSettings, seed: int) -> StageEnd:
    """Whether the draft is proved to be the best: by what people see first, then to the last unit."""
    relaxation, within = settings.relaxation, 0
    if relaxation is not None:
        within = round(_STEP * relaxation.summed * SCALE)
        least = wish.value(search.space, search.draft) + within
        floor = least / SCALE - ACCURACY * relaxation.summed
        branching = BranchAndBound.start(relaxation, max(1, round(_NODES * work)), floor)
        settled, known = search.solve_whole(wish, least, work, seed, branching)
        value = wish.value(search.space, search.draft)
        if not settled or value >= least or not isinstance(wish, WorstShare):
            return StageEnd(settled, float(value) if settled else known, 0 if value >= least else within)
        work = min(work, _LAST_WORK)
    better = settings.rounding + 1
    least = wish.value(search.space, search.draft) + (better if wish.upwards else -better)
    settled, known = search.solve_whole(wish, least, work, seed)
    if settled or within:
        return StageEnd(True, float(wish.value(search.space, search.draft)), 0 if settled else within)
    return StageEnd(False, known)


def _is_near(search: NeighbourhoodSearch, wish: RotaWish, settings: SearchSettings) -> bool:
    """Whether so little is left between the worst share and its bound that a proof may come."""
    value = wish.value(search.space, search.draft)
    return isinstance(wish, WorstShare) and settings.bound is not None and settings.bound - value <= _NEAR * SCALE
