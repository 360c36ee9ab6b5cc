"""The planner's door: the wishes in their order, each held while the next is pursued."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

from trips.core.rota.model.cp_sat import Stop
from trips.core.rota.model.group_wishes import PairsMet, Served
from trips.core.rota.model.plans import plan_from
from trips.core.rota.model.share_wishes import TotalOfShares, WorstShare
from trips.core.rota.model.space import SCALE, Draft, Space
from trips.core.rota.model.stages import Draw, Stage, stages_for
from trips.core.rota.model.wishes import Changes, Wish
from trips.core.rota.problem.shares import pairs_met, shares_of, total_of_shares, worst_share
from trips.core.rota.problem.values import NO_SEAT, Problem
from trips.core.rota.search.first_plan import first_draft
from trips.core.rota.search.improvement import Guide, Search
from trips.core.rota.search.leader_seat import Company, seat_leader, seat_leader_where_settled
from trips.core.rota.search.lp_relaxation import Relaxed
from trips.core.rota.search.outcome import (
    DEFAULT_EFFORT,
    FEASIBLE,
    IMPOSSIBLE,
    NOTHING_FOUND,
    OPTIMAL,
    STOPPED_EARLY,
    Outcome,
    Progress,
    StageResult,
)
from trips.core.rota.search.preprocess import make_space
from trips.core.rota.search.repair import pursue_changes
from trips.core.rota.search.seats import seat_everybody
from trips.core.rota.search.strategies import (
    Reached,
    Relaxing,
    parts_and_whole,
    pursue_pairs,
    pursue_total,
    pursue_worst,
)

_FIRST_WORK = 10.0  # deterministic seconds for a first plan, times the effort


@dataclass(slots=True)
class _Run:
    """What one run knows so far."""

    problem: Problem
    space: Space
    seed: int
    effort: int
    stop: Stop
    progress: Callable[[Progress], None] | None
    relaxing: Relaxing = field(default_factory=Relaxing)
    stage: str = "first_plan"
    bound: float = 1.0
    first_at: float | None = None
    ended: list[tuple[Wish, int, float, bool]] = field(default_factory=list)

    def heard(self, draft: Draft) -> None:
        """Tell how far it is."""
        if self.first_at is None:
            self.first_at = self.stop.seconds()
        if self.progress is not None:
            worst = min((self.space.share(draft, p) for p in self.space.counted), default=SCALE) / SCALE
            self.progress(Progress(self.stage, worst, max(self.bound, worst)))


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    effort: int = DEFAULT_EFFORT,
    at_most_seconds: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Outcome:
    """Plan a rota.

    The same problem, seed and effort give the same outcome but for its seconds, however busy the machine is.
    `effort`: work to spend, DEFAULT_EFFORT being enough for a good plan; `at_most_seconds` and `cancel` only end a
    run early, which the status then says. A run that ends early is never called impossible.
    """
    stop = Stop(at_most_seconds, cancel)
    space = make_space(problem)
    run = _Run(problem, space, seed, effort, stop, progress, bound=_ceiling(space))
    plain = not problem.in_demand and problem.repair not in ("fewest", "few")
    if plain and not run.space.stuck:
        run.relaxing.start(run.space)
    first = first_draft(run.space, seed, _FIRST_WORK * effort, stop)
    if first.draft is None:
        if first.status == "infeasible":
            return Outcome(IMPOSSIBLE, bound=0.0, seconds=stop.seconds())
        return Outcome(STOPPED_EARLY if stop.reached else NOTHING_FOUND, seconds=stop.seconds())
    run.heard(first.draft)
    return _outcome(run, _pursue(run, first.draft))


def _pursue(run: _Run, draft: Draft) -> Draft:
    """One stage after the other."""
    coaching = run.problem.leader == "coaching"
    draft = seat_leader_where_settled(run.space, draft) if coaching else draft
    search = Search(run.space, draft, run.seed, run.stop, run.heard, seats_leader=coaching)
    held: list[tuple[Wish, int]] = []
    for stage in stages_for(run.problem, run.seed):
        if run.stop.now():
            break
        run.stage = stage.wish.name
        wish, reached = _pursue_wish(run, search, stage)
        best = wish.value(run.space, search.draft)
        bound = float(best) if reached.proved or reached.bound is None else reached.bound
        run.ended.append((wish, best, bound, reached.proved))
        search.limits = [*held, (wish, best if stage.tie else stage.limit(best))]
        held.append((wish, stage.limit(best)))
        if isinstance(wish, Draw):
            held.append((Served(run.space, search.draft), 0))
            search.limits.append(held[-1])
    return search.draft


def _pursue_wish(run: _Run, search: Search, stage: Stage) -> tuple[Wish, Reached]:
    """The stage's wish as far as its work takes it."""
    wish, space = stage.wish, run.space
    work = stage.weight * run.effort
    if isinstance(wish, WorstShare):
        worst, reached = pursue_worst(search, run.relaxing, work)
        run.bound = _bound(run, reached, search.draft)
        return worst, reached
    if isinstance(wish, TotalOfShares):
        floor = next(limit for held, limit in search.limits if isinstance(held, WorstShare))
        return pursue_total(search, work, floor)
    if isinstance(wish, Changes):
        return pursue_changes(search, work)
    if isinstance(wish, PairsMet):
        return pursue_pairs(search, work)
    ideal = wish.ideal(space)
    guide = Guide(Relaxed("unknown"), float(ideal), 4 * space.sessions if wish.scale == SCALE else 0)
    return wish, parts_and_whole(search, wish, work, guide)


def _ceiling(space: Space) -> float:
    """The worst share that nobody can pass: 1, unless visits of several sessions can lift shares above it."""
    return WorstShare().ideal(space) / SCALE if space.visit_of else 1.0


def _bound(run: _Run, reached: Reached, draft: Draft) -> float:
    """The bound of the worst share: the draft's own where that is proved, else with what rounding to whole hides."""
    if reached.proved:
        return worst_share(run.problem, plan_from(run.space, draft, defaultdict(lambda: NO_SEAT)))
    known = _ceiling(run.space) if reached.bound is None else (reached.bound + run.space.sessions) / SCALE
    return min(known, _ceiling(run.space))


def _outcome(run: _Run, draft: Draft) -> Outcome:
    """Seats, figures and words of the end."""
    draft, company_proved = seat_leader(run.space, draft, run.seed, run.stop)
    seats = seat_everybody(run.space, draft, run.seed, Stop())
    if seats is None:
        return Outcome(NOTHING_FOUND, seconds=run.stop.seconds())
    plan = plan_from(run.space, draft, seats)
    worst = worst_share(run.problem, plan)
    stages = tuple(_result(run.space, draft, ended) for ended in run.ended)
    company = Company().value(run.space, draft)
    if run.problem.leader != "never":
        stages += (StageResult("leader_company", company, company, 0.0, company_proved, False),)
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


def _result(space: Space, draft: Draft, ended: tuple[Wish, int, float, bool]) -> StageResult:
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
