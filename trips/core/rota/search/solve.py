"""The planner's door: the wishes in lexicographic order, each held while the next is searched for."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

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
)
from trips.core.rota.search.preprocess import preprocess
from trips.core.rota.search.repair import fewest_changes
from trips.core.rota.search.seats import seat_everybody
from trips.core.rota.search.strategies import StageEnd, meet_pairs, raise_total, raise_worst_share, search_by_size

_FIRST_WORK = 10.0  # deterministic seconds for a first plan, times the effort: only rotas hard to fill need any of it
_EFFORT = {SearchTime.QUICK: 1, SearchTime.NORMAL: 10, SearchTime.THOROUGH: 40}


@dataclass(slots=True)
class _Run:
    """What one run knows so far.

    `stage`: its name, told with the progress. `bound`: of the worst share. `ended`: (wish, its best value, bound,
    whether proved) of each stage.
    """

    problem: Problem
    space: Space
    seed: int
    effort: int
    stop: StopSignal
    progress: Callable[[Progress], None] | None
    pending_lp: PendingLp | None = None
    stage: str = "first_plan"
    bound: float = 1.0
    first_at: float | None = None
    ended: list[tuple[RotaWish, int, float, bool]] = field(default_factory=list)

    def tell(self, draft: Draft) -> None:
        """Tell the progress: a better draft is there."""
        if self.first_at is None:
            self.first_at = self.stop.seconds()
        if self.progress is not None:
            worst = min((self.space.share(draft, p) for p in self.space.counted), default=SCALE) / SCALE
            self.progress(Progress(self.stage, worst, max(self.bound, worst)))


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
    that ends early is never called impossible.
    """
    stop = stop or StopSignal()
    space = preprocess(problem)
    effort = _EFFORT[search_time]
    run = _Run(problem, space, seed, effort, stop, progress, bound=_ceiling(space))
    no_wish_before = not problem.in_demand and problem.repair not in ("fewest", "few")
    if no_wish_before and not space.impossible_cells:  # the other core would idle while the first plan is searched for
        run.pending_lp = PendingLp(lambda: LpRelaxation(space))
    first = first_draft(space, seed, _FIRST_WORK * effort, stop)
    if first.draft is None:
        if run.pending_lp is not None:
            run.pending_lp.interrupt()
        if first.status == "infeasible":
            return Outcome(IMPOSSIBLE, bound=0.0, seconds=stop.seconds())
        return Outcome(STOPPED_EARLY if stop.reached else NOTHING_FOUND, seconds=stop.seconds())
    run.tell(first.draft)
    return _outcome(run, _run_stages(run, first.draft))


def _run_stages(run: _Run, draft: Draft) -> Draft:
    """One stage after the other, each holding the values of those before it."""
    coaching = run.problem.leader == "coaching"
    draft = seat_leader_where_settled(run.space, draft) if coaching else draft
    search = NeighbourhoodSearch(run.space, draft, run.seed, run.stop, run.tell, seats_leader=coaching)
    held: list[tuple[RotaWish, int]] = []
    for stage in stages_for(run.problem, run.seed):
        if run.stop.now():
            break
        run.stage = stage.wish.name
        wish, end = _run_stage(run, search, stage)
        best = wish.value(run.space, search.draft)
        bound = float(best) if end.proved or end.bound is None else end.bound
        run.ended.append((wish, best, bound, end.proved))
        search.limits = [*held, (wish, best if stage.before_tie_break else stage.limit(best))]
        held.append((wish, stage.limit(best)))
        if isinstance(wish, Draw) and wish.is_last:
            held.append((Served(run.space, search.draft), 0))
            search.limits.append(held[-1])
    if run.pending_lp is not None and run.stop.reached:
        run.pending_lp.interrupt()
    return search.draft


def _run_stage(run: _Run, search: NeighbourhoodSearch, stage: Stage) -> tuple[RotaWish, StageEnd]:
    """The stage's wish as far as its work takes it."""
    wish, space = stage.wish, run.space
    work = stage.work_share * run.effort
    if isinstance(wish, WorstShare):
        worst, end = raise_worst_share(search, run.pending_lp, work)
        run.bound = _bound(run, end, search.draft)
        return worst, end
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


def _ceiling(space: Space) -> float:
    """The worst share that nobody can pass: 1, unless visits of several sessions can lift shares above it."""
    return WorstShare().ideal(space) / SCALE if space.visit_of else 1.0


def _bound(run: _Run, end: StageEnd, draft: Draft) -> float:
    """The bound of the worst share: the draft's own where that is proved, else the stage's and what rounding adds."""
    if end.proved:
        return worst_share(run.problem, plan_from(run.space, draft, defaultdict(lambda: NO_SEAT)))
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
    stages = tuple(_result(run.space, draft, ended) for ended in run.ended)
    if run.problem.leader != "never":
        evenness = LeaderEvenness()
        difference = evenness.value(run.space, draft)
        stages += (StageResult(evenness.name, difference, difference, 0.0, leader_proved, False),)
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
        seconds=run.stop.seconds(),
        seconds_to_first_plan=run.first_at,
    )


def _result(space: Space, draft: Draft, ended: tuple[RotaWish, int, float, bool]) -> StageResult:
    wish, best, bound, proved = ended
    value = wish.value(space, draft)
    bound = max(bound, value) if wish.upwards else min(bound, value)  # a tie-break gains by what is spent later
    return StageResult(
        name=wish.name,
        value=value / wish.scale,
        best=best / wish.scale,
        bound=bound / wish.scale,
        proved=proved,
        upwards=wish.upwards,
    )
