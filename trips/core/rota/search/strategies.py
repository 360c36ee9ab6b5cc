"""The two great wishes, worst share and total: a relaxation to lean on, local search, then parts and the whole."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np

from trips.core.rota.model.group_wishes import PairsMet
from trips.core.rota.model.share_wishes import LiftedShares, TotalOfShares, WorstShare
from trips.core.rota.model.space import SCALE, Draft, Space
from trips.core.rota.model.wishes import Wish
from trips.core.rota.search.bound import WholeBound
from trips.core.rota.search.first_plan import leaning_draft
from trips.core.rota.search.improvement import Guide, Search
from trips.core.rota.search.local.local_search import Aim, Climb
from trips.core.rota.search.local.mixing import Floors, Mixing
from trips.core.rota.search.lp_relaxation import Relaxation, Relaxed

_SMALL = 60  # open cells that are tried as a whole at once
_MIDDLE = 100  # open cells up to which several starts are worth more than one long search
_BRANCHED = 130  # open cells up to which branching lowers the relaxation's bound in the time that there is
_STARTS = 2  # with the usual work; more work makes more and longer ones
_USUAL_WORK = 6.0  # deterministic seconds for the worst share at the default effort
_NODES = 100  # of a branch and bound beside the usual work: most of its time goes into the cuts before the first branch
_BESIDE = 0.95  # of the work of one long search, where a branch and bound runs beside it
_MORE_NODES = 500  # for each deterministic second above it
_FLOOR_ABOVE = 2e-5  # of a share: how much better than the draft is worth looking for
_APART = 1_000_003  # between the seeds of two starts
_ROUNDS = 60
_STEPS = 400  # exchanges between pairs that one deterministic second stands for
_FEW_MEETINGS = 6_000


@dataclass(frozen=True, slots=True)
class _Way:
    """Deterministic seconds of one start: for each part, for lifting all low shares, for lifting the lowest."""

    part: float
    lifting: float
    worst: float


_SHORT, _LONG = _Way(0.1, 1.2, 2.4), _Way(0.4, 1.8, 6.0)


@dataclass(frozen=True, slots=True)
class Reached:
    """`bound` in whole-number shares; None where nothing better than the wish's ideal is known."""

    proved: bool
    bound: float | None


@dataclass(slots=True)
class Relaxing:
    """A relaxation under way beside the search for a first plan."""

    pool: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1))
    future: Future[Relaxed] | None = None

    def start(self, space: Space) -> None:
        """Begin with the worst share, no wish held."""
        self.future = self.pool.submit(Relaxation(space).solve)

    def wait(self, search: Search) -> Relaxed:
        """The relaxation; begun now, with all wishes held, if none is under way. One that ends early tells nothing."""
        if self.future is None:
            self.future = self.pool.submit(Relaxation(search.space, limits=search.limits).solve)
        while not self.future.done():
            if search.stop.now():
                return Relaxed("unknown")
            search.stop.pause()
        return self.future.result()


def pursue_worst(search: Search, relaxing: Relaxing, work: float) -> tuple[WorstShare, Reached]:
    """Lift the worst share; the wish comes back with the target that it was searched with."""
    space, relaxed = search.space, relaxing.wait(search)
    bound = relaxed.bound * SCALE if relaxed.status == "optimal" else float(WorstShare().ideal(space))
    wish = WorstShare(round(min(bound, WorstShare().ideal(space))))
    aim = _aim(space, relaxed, 0.0)
    if relaxed.status == "optimal":
        leaning = leaning_draft(space, relaxed.lean, search.seed, search.stop)
        for draft in (leaning, search.draft):
            if draft is not None:
                search.take(draft, wish)
                search.take(_polished(search, aim, draft), wish)
    guide = Guide(relaxed, bound, 2 * space.sessions, lambda draft: _polished(search, aim, draft))
    return wish, parts_and_whole(search, wish, work, guide)


def pursue_total(search: Search, work: float, floor: int) -> tuple[TotalOfShares, Reached]:
    """Raise the total while nobody falls below the floor."""
    space, wish = search.space, TotalOfShares()
    relaxed = Relaxation(space, floor / SCALE - 1e-7, search.limits).solve(search.stop.left())
    bound = relaxed.bound * SCALE if relaxed.status == "optimal" else float(wish.ideal(space))
    aim = Aim(floor / SCALE, np.full(space.people, 1e7), 1.0)
    search.take(_polished(search, aim, search.draft), wish)
    guide = Guide(relaxed, bound, 2 * space.sessions * len(space.counted), lambda draft: _polished(search, aim, draft))
    return wish, parts_and_whole(search, wish, work, guide)


def pursue_pairs(search: Search, work: float) -> tuple[PairsMet, Reached]:
    """Let pairs meet: by exchanges, and in small rotas by a model of the whole."""
    space, wish = search.space, PairsMet()
    held = {type(limited): limit for limited, limit in search.limits}
    floors = Floors(held.get(WorstShare, -SCALE * 100), held.get(TotalOfShares, -SCALE * 10_000))
    ideal = wish.ideal(space)
    guide = Guide(Relaxed("unknown"), ideal)
    if not guide.enough(wish, search):
        mixing = Mixing(space, search.draft, floors, search.seed)
        found = mixing.search(round(work * _STEPS), ideal, lambda d: search.stop.now() or search.allows(d))
        search.take(found, wish)
    size = space.people**2 * space.sessions * space.hides
    if not guide.enough(wish, search) and size <= _FEW_MEETINGS and not search.stop.now():
        proved, known = search.whole(wish, work)
        return wish, Reached(proved, min(float(ideal), known) if known is not None else float(ideal))
    return wish, Reached(guide.enough(wish, search), float(ideal))


def _aim(space: Space, relaxed: Relaxed, slope: float) -> Aim:
    """Weights half by what a share costs the others, half alike; the target a little above the bound."""
    weight = np.ones(space.people)
    target = 1.0
    if relaxed.status == "optimal" and relaxed.price:
        weight = 0.5 + 0.5 * np.array(relaxed.price) * max(1, len(space.counted))
        target = relaxed.bound + 0.005
    return Aim(target, weight, slope)


def _polished(search: Search, aim: Aim, draft: Draft) -> Draft:
    climb = Climb(search.space, draft, aim)
    climb.descend(_ROUNDS)
    return climb.result()


def parts_and_whole(search: Search, wish: Wish, work: float, guide: Guide) -> Reached:
    """Both ways, in the order and with the work that suit the size."""
    bound = guide.goal
    if guide.enough(wish, search):
        return Reached(True, bound)
    cells = len(search.space.open_cells())
    if cells > _SMALL and isinstance(wish, WorstShare):
        return _worst_in_parts(search, wish, work, guide)
    middle = _SMALL < cells <= _MIDDLE
    if cells > _SMALL:
        search.parts(wish, work * 0.25 if middle else work, guide)
    if cells > _SMALL and (guide.enough(wish, search) or search.stop.now()):
        return Reached(guide.enough(wish, search), bound)
    if cells > _MIDDLE:
        return Reached(False, bound)
    proved, known = search.whole(wish, work * 0.2 if middle else work)
    if known is not None and bound is not None:
        bound = min(bound, known)
    return Reached(proved, bound)


def _worst_in_parts(search: Search, wish: WorstShare, work: float, guide: Guide) -> Reached:
    """The worst share of a rota that is too large for one model; beside it, where it helps, a better bound."""
    cells = len(search.space.open_cells())
    if cells > _BRANCHED:
        search.parts(wish, work, guide)
        return Reached(guide.enough(wish, search), guide.goal)
    way = _from_several_starts if cells <= _MIDDLE else _from_one_start
    relaxation = Relaxation(search.space, limits=search.limits)
    first = min(work, _USUAL_WORK)
    branching = [WholeBound.start(relaxation, max(1, round(_NODES * first / _USUAL_WORK)), search.stop)]
    way(search, wish, first, guide, 0)
    if work > first and not search.stop.now():
        floor = wish.value(search.space, search.draft) / SCALE + _FLOOR_ABOVE
        branching.append(WholeBound.start(relaxation, round(_MORE_NODES * (work - first)), search.stop, floor))
        way(search, wish, work - first, guide, _STARTS)
    for known in [under_way.wait(search.stop) for under_way in branching]:
        if known is not None and guide.goal is not None:
            guide = replace(guide, goal=min(guide.goal, known * SCALE))
    return Reached(guide.enough(wish, search), guide.goal)


def _from_one_start(search: Search, wish: WorstShare, work: float, guide: Guide, _: int) -> None:
    """Go on from the draft that is there, with what the branching beside it leaves of the work."""
    search.parts(wish, work * _BESIDE, guide)


def _from_several_starts(search: Search, wish: WorstShare, work: float, guide: Guide, begun_before: int) -> None:
    """Begin in several places, each time by way of all low shares: such rotas have few ways up, and dead ends."""

    def heard(draft: Draft) -> None:
        search.take(draft, wish)

    way = _LONG if begun_before else _SHORT
    starts = max(1, round(work / (way.lifting + way.worst))) if begun_before else _STARTS
    scale, begun = min(1.0, work / _USUAL_WORK), search.draft
    for start in range(begun_before, begun_before + starts):
        seed = search.seed + _APART * start
        leaning = leaning_draft(search.space, guide.relaxed.lean, seed, search.stop) if start else None
        if leaning is not None and guide.polish is not None:
            begun = guide.polish(leaning)
        other = Search(search.space, begun, seed, search.stop, heard, search.seats_leader, search.limits)
        parts = replace(guide, part_work=way.part)
        other.parts(LiftedShares(wish.target), way.lifting * scale, parts)
        other.parts(wish, way.worst * scale, parts)
