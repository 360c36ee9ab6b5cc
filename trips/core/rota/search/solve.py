"""The planner's door: the wishes in lexicographic order, each held while the next is searched for."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.model.group_wishes import PairsMet, Served
from trips.core.rota.model.share_wishes import TotalOfShares, WorstShare
from trips.core.rota.model.space import SCALE, Draft, Space, plan_from
from trips.core.rota.model.stages import Draw, Stage, stages_for
from trips.core.rota.model.wishes import Changes, RotaWish
from trips.core.rota.problem.shares import pairs_met, shares_of, total_of_shares, worst_share
from trips.core.rota.problem.values import NO_SEAT, Problem
from trips.core.rota.search.first_plan import first_draft
from trips.core.rota.search.leader_seat import LeaderEvenness, seat_leader, seat_leader_where_settled
from trips.core.rota.search.lp_relaxation import LpRelaxation
from trips.core.rota.search.lp_solve import LpSolution, PendingLp
from trips.core.rota.search.neighbourhood_search import NeighbourhoodSearch, SearchSettings
from trips.core.rota.search.outcome import (
    FEASIBLE,
    IMPOSSIBLE,
    NOTHING_FOUND,
    OPTIMAL,
    STOPPED_EARLY,
    Outcome,
    Progress,
    SearchTime,
    StageResult,
    Trade,
)
from trips.core.rota.search.preprocess import preprocess
from trips.core.rota.search.repair import fewest_changes
from trips.core.rota.search.seats import seat_everybody
from trips.core.rota.search.strategies import (
    StageEnd,
    can_be_settled,
    is_tiny,
    meet_pairs,
    raise_total,
    raise_worst_share,
    search_by_size,
)

_FIRST_WORK = 10.0  # deterministic seconds for a first plan, times the effort: only rotas hard to fill need any of it
# A stage gets so many deterministic seconds times its share of the work.
_EFFORT = {SearchTime.QUICK: 1.0, SearchTime.NORMAL: 10.0, SearchTime.THOROUGH: 10.0}
_MORE_EFFORT = 4.0  # times as much in each further round of a thorough search


@dataclass(frozen=True, slots=True)
class _Ended:
    """A stage that ended: its best value, the draft that has it, and what is known; `limit`: what later ones leave."""

    wish: RotaWish
    best: int
    draft: Draft
    end: StageEnd
    limit: int


@dataclass(slots=True)
class _Run:
    """What one run knows so far.

    `stage`: its name, told with the progress. `bound`: of the worst share. `ended`: the stages of this round;
    `before`: those of the round before, by their place.
    """

    problem: Problem
    space: Space
    seed: int
    effort: float
    stop: StopSignal
    progress: Callable[[Progress], None] | None
    pending_lp: PendingLp | None = None
    stage: str = "first_plan"
    bound: float = 1.0
    first_at: float | None = None
    ended: list[_Ended] = field(default_factory=list)
    before: list[_Ended] = field(default_factory=list)
    trades: list[Trade] = field(default_factory=list)

    def tell(self, draft: Draft) -> None:
        """Tell the progress: a better draft, a better bound or another stage is there."""
        if self.first_at is None:
            self.first_at = self.stop.seconds()
        if self.progress is not None:
            worst = min((self.space.share(draft, p) for p in self.space.counted), default=SCALE) / SCALE
            self.progress(Progress(self.stage, worst, max(self.bound, worst)))

    def tell_bound(self, draft: Draft, bound: float) -> None:
        """Tell a better bound of the worst share, in whole-number shares, while that is searched for."""
        known = (bound + self.space.sessions) / SCALE  # and what rounding adds
        if self.stage == WorstShare.name and known < self.bound:
            self.bound = known
            self.tell(draft)


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    search_time: SearchTime = SearchTime.NORMAL,
    progress: Callable[[Progress], None] | None = None,
    stop: StopSignal | None = None,
) -> Outcome:
    """Plan a rota.

    The same problem, seed and search time give the same outcome but for its seconds, however busy the machine is.
    `stop` only ends a run early, which the status then says, and brings the clock that `seconds` are read from. A run
    that ends early is never called impossible. A thorough one goes on until all is proved or it is stopped.
    """
    stop = stop or StopSignal()
    space = preprocess(problem)
    run = _Run(problem, space, seed, _EFFORT[search_time], stop, progress, bound=_ceiling(space))
    no_wish_before = not problem.in_demand and problem.repair not in ("fewest", "few")
    if no_wish_before and not space.impossible_cells and not is_tiny(space):  # beside the first plan, on the other core
        run.pending_lp = PendingLp(lambda: LpRelaxation(space))
    first = first_draft(space, seed, _FIRST_WORK * run.effort, stop)
    if first.draft is None:
        if run.pending_lp is not None:
            run.pending_lp.interrupt()
        if first.status == "infeasible":
            return Outcome(IMPOSSIBLE, bound=0.0, seconds=stop.seconds())
        return Outcome(STOPPED_EARLY if stop.reached else NOTHING_FOUND, seconds=stop.seconds())
    run.tell(first.draft)
    draft = _run_stages(run, first.draft)
    while search_time == SearchTime.THOROUGH and not stop.now() and not all(one.end.proved for one in run.ended):
        draft = _another_round(run, draft)
    return _outcome(run, draft)


def _another_round(run: _Run, draft: Draft) -> Draft:
    """All stages again with more work, each from its best; a round that a stop cuts short counts where it is fairer."""
    ended, trades, bound = run.ended, run.trades, run.bound
    run.before, run.ended, run.trades, run.bound = ended, [], [], _ceiling(run.space)
    run.effort *= _MORE_EFFORT
    found = _run_stages(run, ended[0].draft)
    run.bound = min(run.bound, bound)
    worst = WorstShare()
    visible = worst.value(run.space, found) >= worst.value(run.space, draft) + worst.visible(run.space)
    if len(run.ended) < len(ended) and not visible:
        run.ended, run.trades = ended, trades
        return draft
    return found


def _run_stages(run: _Run, draft: Draft) -> Draft:
    """One stage after the other, each holding the values of those before it."""
    coaching = run.problem.leader == "coaching"
    draft = seat_leader_where_settled(run.space, draft) if coaching else draft
    search = NeighbourhoodSearch(run.space, draft, run.seed, run.stop, run.tell, coaching, on_bound=run.tell_bound)
    for stage in stages_for(run.problem, run.seed):
        if run.stop.now():
            break
        run.stage = stage.wish.name
        run.tell(search.draft)
        search.limits = [(one.wish, one.wish.value(search.space, search.draft)) for one in run.ended]
        wish, end = _run_stage(run, search, stage)
        best = search.draft, wish.value(run.space, search.draft)
        if not stage.breaks_ties:
            end = _spend(run, search, stage, wish, end)
        value = wish.value(run.space, search.draft)
        better = best if (best[1] > value if wish.upwards else best[1] < value) else (search.draft, value)
        run.ended.append(_Ended(wish, better[1], better[0], end, stage.limit(better[1])))
        if isinstance(wish, Draw) and wish.is_last:
            served = Served(run.space, search.draft)
            run.ended.append(_Ended(served, 0, search.draft, StageEnd(True, 0.0), 0))
    if run.pending_lp is not None and run.stop.reached:
        run.pending_lp.interrupt()
    return search.draft


def _run_stage(run: _Run, search: NeighbourhoodSearch, stage: Stage) -> tuple[RotaWish, StageEnd]:
    """The stage's wish as far as its work takes it; what an earlier round proved is not searched for again."""
    place = len(run.ended)
    if place < len(run.before):
        search.accept(run.before[place].draft, stage.wish)
        if all(one.end.proved for one in run.before[: place + 1]):
            return run.before[place].wish, run.before[place].end
    wish, end = _search_stage(run, search, stage)
    if isinstance(wish, WorstShare):
        run.bound = _bound(run, end, search.draft)
        run.tell(search.draft)
    return wish, end


def _search_stage(run: _Run, search: NeighbourhoodSearch, stage: Stage) -> tuple[RotaWish, StageEnd]:
    wish, space = stage.wish, run.space
    work = stage.work_share * run.effort
    if isinstance(wish, WorstShare):
        return raise_worst_share(search, run.pending_lp, work)
    if isinstance(wish, TotalOfShares):
        floor = next(limit for held, limit in search.limits if isinstance(held, WorstShare))
        return raise_total(search, work, floor)
    if isinstance(wish, Changes):
        return fewest_changes(search, work)
    if isinstance(wish, PairsMet):
        return meet_pairs(search, work)
    rounding = 4 * space.sessions if wish.scale == SCALE else 0  # a gain and a fee a session, each off by one at most
    settings = SearchSettings(LpSolution("unknown"), float(wish.ideal(space)), rounding)
    return wish, search_by_size(search, wish, work, settings)


def _spend(run: _Run, search: NeighbourhoodSearch, stage: Stage, wish: RotaWish, end: StageEnd) -> StageEnd:
    """Let the wish spend what earlier ones leave it, if it gains visibly by that; else all stays as it is."""
    strict, draft, before = search.limits, search.draft, wish.value(search.space, search.draft)
    loose = [(one.wish, one.limit) for one in run.ended]
    least = before + wish.visible(run.space) * (1 if wish.upwards else -1)
    reachable = wish.ideal(run.space) >= least if wish.upwards else wish.ideal(run.space) <= least
    if loose == strict or not reachable or run.stop.now():
        return end
    search.limits = loose
    if can_be_settled(search, wish):
        settled, known = search.solve_whole(wish, least, stage.work_share * run.effort, run.seed)
        spent = StageEnd(settled, known)
    else:
        _, spent = _search_stage(run, search, replace(stage, work_share=stage.work_share / 2))
    after = wish.value(search.space, search.draft)
    if after < least if wish.upwards else after > least:
        search.draft = draft
        return end
    for held, value in strict:
        now = held.value(search.space, search.draft)
        if now < value if held.upwards else now > value:
            gave = held.name, value / held.scale, now / held.scale
            run.trades.append(Trade(*gave, wish.name, before / wish.scale, after / wish.scale))
    return StageEnd(True, float(after)) if spent.proved else spent


def _ceiling(space: Space) -> float:
    """The worst share that nobody can pass: 1, unless visits of several sessions can lift shares above it."""
    return WorstShare().ideal(space) / SCALE if space.visit_of else 1.0


def _bound(run: _Run, end: StageEnd, draft: Draft) -> float:
    """The bound of the worst share: the draft's own where that is proved, else the stage's and what rounding adds."""
    if end.proved:
        return worst_share(run.problem, plan_from(run.space, draft, defaultdict(lambda: NO_SEAT))) + end.within / SCALE
    known = _ceiling(run.space) if end.bound is None else (end.bound + run.space.sessions) / SCALE
    return min(known, _ceiling(run.space))


def _outcome(run: _Run, draft: Draft) -> Outcome:
    """Seats, figures and words of the end."""
    draft, leader_proved = seat_leader(run.space, draft, run.seed, run.stop)
    seats = seat_everybody(run.space, draft, run.seed, run.stop)
    if seats is None:
        return Outcome(NOTHING_FOUND, seconds=run.stop.seconds())
    plan = plan_from(run.space, draft, seats)
    worst = worst_share(run.problem, plan)
    stages = tuple(_result(run, draft, ended) for ended in run.ended if not isinstance(ended.wish, Served))
    if run.problem.leader != "never":
        evenness = LeaderEvenness()
        difference = evenness.value(run.space, draft)
        bound = float(difference) if leader_proved else None
        stages += (StageResult(evenness.name, difference, difference, bound, leader_proved, False),)
    status = OPTIMAL if all(stage.proved for stage in stages) else FEASIBLE
    return Outcome(
        status=STOPPED_EARLY if run.stop.reached else status,
        plan=plan,
        worst_share=worst,
        bound=max(run.bound, worst),
        total_of_shares=total_of_shares(run.problem, plan),
        shares=shares_of(run.problem, plan),
        pairs_met=pairs_met(plan),
        stages=stages,
        trades=tuple(run.trades),
        seconds=run.stop.seconds(),
        seconds_to_first_plan=run.first_at,
    )


def _result(run: _Run, draft: Draft, ended: _Ended) -> StageResult:
    """What is told of a stage; a bound that is no better than what is known without any search is none."""
    wish, bound = ended.wish, float(ended.best + ended.end.within) if ended.end.proved else ended.end.bound
    value, ideal = wish.value(run.space, draft), wish.ideal(run.space)
    rounding = 4 * run.space.sessions if wish.scale == SCALE else 0  # each session rounds its points
    if bound is not None and not ended.end.proved and abs(bound - ideal) <= rounding:
        bound = None
    if bound is not None:  # a tie-break gains by what is spent later
        bound = max(bound, value) if wish.upwards else min(bound, value)
    return StageResult(
        name=wish.name,
        value=value / wish.scale,
        best=ended.best / wish.scale,
        bound=None if bound is None else bound / wish.scale,
        proved=ended.end.proved,
        upwards=wish.upwards,
    )
