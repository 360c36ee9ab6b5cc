"""The planner against every plan there is: random small problems, judged by the checker, compared wish by wish."""

from itertools import product
from random import Random

import numpy as np
import pytest

from tests.core.rota.solver_cases import a_problem, every_plan, random_problem
from trips.core.rota.check.checker import check
from trips.core.rota.check.tallies import Tallies
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.solve import solve

AT_MOST_PLANS = 3000
_OF_THE_LEADER = {"leader_before_rest", "leader_better_seat"}


def _wishes_before_shares(problem: Problem, tally: Tallies) -> tuple[int, ...]:
    """The counts that come before shares, the higher the better."""
    counts: list[int] = []
    if any(problem.rests_allowed):
        counts += [-sum(tally.rests), -tally.rests_repeated]
    if problem.in_demand:
        counts += [-tally.without_turn, -tally.demand_excess]
    return tuple(counts)


def _best_by_comparison(problem: Problem) -> tuple[tuple[int, ...], list[Tallies]] | None:
    """The best counts and all plans that have them; None when no plan is sound."""
    plans = every_plan(problem, AT_MOST_PLANS)
    assert plans is not None
    best: tuple[tuple[int, ...], list[Tallies]] | None = None
    for plan in plans:
        verdict = check(problem, plan)
        if verdict.tallies is None or any(fault.rule not in _OF_THE_LEADER for fault in verdict.faults):
            continue
        counts = _wishes_before_shares(problem, verdict.tallies)
        if best is None or counts > best[0]:
            best = (counts, [])
        if counts == best[0]:
            best[1].append(verdict.tallies)
    return best


def _few_plans(seed: int) -> bool:
    """Whether the problem of that seed has few enough plans to compare them all (shared ones are not compared)."""
    problem = random_problem(Random(seed))
    return bool(problem.shared) or every_plan(problem, AT_MOST_PLANS) is not None


SEEDS = [seed for seed in range(64) if _few_plans(seed)][:60]


def test_sixty_problems_are_small_enough_to_compare_all_their_plans() -> None:
    assert len(SEEDS) == 60


@pytest.mark.parametrize("seed", SEEDS)
def test_small_problems_end_as_a_comparison_of_all_plans_does(seed: int) -> None:
    problem = random_problem(Random(seed))
    best = None if problem.shared else _best_by_comparison(problem)
    outcome = solve(problem, search_time=SearchTime.QUICK)
    if outcome.plan is None:
        assert outcome.status == "impossible"
        assert best is None
        return
    verdict = check(problem, outcome.plan)
    assert verdict.faults == ()
    for stage in outcome.stages:
        assert stage.bound is not None or not stage.proved
        if stage.bound is None:  # not looked for
            continue
        ahead = stage.bound - stage.value if stage.upwards else stage.value - stage.bound
        assert ahead >= -1e-6, stage
    if problem.shared or problem.leader == "coaching":
        return
    assert best is not None
    assert verdict.tallies is not None
    assert _wishes_before_shares(problem, verdict.tallies) == best[0]
    drawn = _served(verdict.tallies)  # whom the draw gave a turn in a sought-after hide
    alike = [tally for tally in best[1] if _served(tally) == drawn]
    worst = max(tally.worst_share for tally in alike)
    assert outcome.worst_share == pytest.approx(worst, abs=2e-6)
    assert outcome.total_of_shares == pytest.approx(
        max(tally.total_of_shares for tally in alike if tally.worst_share > worst - 1e-6), abs=2e-6
    )


def _served(tally: Tallies) -> list[tuple[bool, ...]]:
    return [tuple(visits > 0 for visits in hide.visits) for hide in tally.demand]


@pytest.mark.parametrize("seed", range(4))
def test_worst_share_and_total_match_up_to_four_hundred_thousand_plans(seed: int) -> None:
    """Points count alone here, so all plans can be compared at once as arrays."""
    chance = Random(seed)
    people, sessions, hides, seats = 3, 4, 3, 2
    points = np.array(
        [[[chance.randint(0, 100) for _ in range(hides)] for _ in range(sessions)] for _ in range(people)]
    )
    problem = a_problem(
        people,
        sessions,
        (seats,) * hides,
        points=tuple(tuple(map(tuple, rows)) for rows in points.astype(float).tolist()),
    )
    per_person = list(product(range(hides), repeat=sessions))
    worth = np.array([_points_of_schedules(problem, points[person], per_person) for person in range(people)])
    best = worth.max(axis=1)
    shares = worth / best[:, None]
    one, two, three = np.meshgrid(*[np.arange(len(per_person))] * people, indexing="ij")
    fits = np.ones(one.shape, dtype=bool)
    schedules = np.array(per_person)
    for session in range(sessions):
        same = (schedules[one, session] == schedules[two, session]) & (
            schedules[two, session] == schedules[three, session]
        )
        fits &= ~same
    worst = np.minimum(np.minimum(shares[0][one], shares[1][two]), shares[2][three])
    total = shares[0][one] + shares[1][two] + shares[2][three]
    worst[~fits] = -1.0
    outcome = solve(problem)
    assert one.size > 400_000
    assert outcome.worst_share == pytest.approx(worst.max(), abs=1e-6)
    assert outcome.total_of_shares == pytest.approx(total[worst >= worst.max() - 1e-9].max(), abs=1e-6)


def _points_of_schedules(problem: Problem, points: np.ndarray, schedules: list[tuple[int, ...]]) -> np.ndarray:
    """Points of one person for each schedule, counted here anew: turns less the losses of further visits."""
    average = points.mean(axis=0)
    losses = np.cumsum([0.0, *problem.visit_loss])
    found = []
    for schedule in schedules:
        turns = sum(points[session][hide] for session, hide in enumerate(schedule))
        found.append(turns - sum(losses[schedule.count(hide)] * average[hide] for hide in range(points.shape[1])))
    return np.array(found)
