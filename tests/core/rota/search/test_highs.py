"""An independent solver agrees on the optimum: the worst share, then the total, by a model written here anew."""

from random import Random

import highspy
import numpy as np
import pytest

from tests.core.rota.solver_cases import a_problem
from trips.core.rota.problem.shares import averages, best_alone
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.solve import solve

LIMIT = 3  # visits
SIZES = ((6, 4, 8), (5, 4, 6), (6, 3, 5), (4, 4, 8))


def random_camp(seed: int) -> Problem:
    """Shares that differ: half the people want the first hides, half the last; seats are scarce."""
    chance = Random(seed)
    people, hides, sessions = SIZES[seed % len(SIZES)]
    points = tuple(
        tuple(
            tuple(float(chance.randint(0, 60) + 40 * (h % 2 == p % 2)) for h in range(hides)) for _ in range(sessions)
        )
        for p in range(people)
    )
    return a_problem(
        people, sessions, (2,) * hides, points=points, visits_at_most=LIMIT, cannot=frozenset({(0, 0), (1, hides - 1)})
    )


def independent_optimum(problem: Problem) -> tuple[float, float]:
    """Worst share and total by mixed-integer programming: binaries for turns, slots for further visits."""
    worst = _solve(problem, None)
    return worst, _solve(problem, worst - 1e-6)


def _solve(problem: Problem, floor: float | None) -> float:
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 1e-9)
    people, sessions, hides = range(len(problem.people)), range(len(problem.sessions)), range(len(problem.hides))
    turn = {(p, s, h): model.addBinary() for p in people for s in sessions for h in hides if problem.may_sit(p, s, h)}
    best, average = best_alone(problem), averages(problem)
    worst = model.addVariable(lb=0.0, ub=1.0)
    shares = []
    for p in people:
        share = sum(
            turn[p, s, h] * (problem.points[p][s][h] / best[p]) for s in sessions for h in hides if (p, s, h) in turn
        )
        for h in hides:
            visits = [turn[p, s, h] for s in sessions if (p, s, h) in turn]
            slots = [model.addVariable(lb=0.0, ub=1.0) for _ in range(LIMIT)]
            if visits:
                model.addConstr(sum(visits) == sum(slots))
            share = share - sum(
                slot * (float(average[p, h]) * problem.visit_loss[k] / best[p]) for k, slot in enumerate(slots)
            )
        shares.append(share)
        model.addConstr(share >= (worst if floor is None else floor))
        for s in sessions:
            model.addConstr(sum(turn[p, s, h] for h in hides if (p, s, h) in turn) == 1)
    for s in sessions:
        for h in hides:
            model.addConstr(sum(turn[p, s, h] for p in people if (p, s, h) in turn) <= problem.capacity(s, h))
    model.maximize(worst if floor is None else sum(shares))
    assert model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return float(np.round(model.getObjectiveValue(), 9))


@pytest.mark.parametrize("seed", range(20))
def test_another_solver_agrees_on_worst_share_and_total(seed: int) -> None:
    problem = random_camp(seed)
    outcome = solve(problem)
    worst, total = independent_optimum(problem)
    assert next(stage for stage in outcome.stages if stage.name == "worst_share").proved
    assert next(stage for stage in outcome.stages if stage.name == "total_of_shares").proved
    assert outcome.worst_share == pytest.approx(worst, abs=3e-6)
    assert outcome.total_of_shares == pytest.approx(total, abs=3e-5)
