"""What the planner's preprocessing works into its space is what the folded rules say, no more and no less."""

from random import Random

import pytest

from tests.core.rota.solver_cases import random_problem
from trips.core.rota.explain.conflict_search import Effort, build, solve
from trips.core.rota.model.cp_sat import StopSignal, Task, solve_tasks
from trips.core.rota.model.folded_rules import FOLDED_RULES
from trips.core.rota.model.rules import rota_model
from trips.core.rota.search.preprocess import preprocess


@pytest.mark.parametrize("seed", range(60))
def test_the_planners_model_and_the_open_one_hold_the_same_rules(seed: int) -> None:
    problem = random_problem(Random(seed))
    space = preprocess(problem)
    found = []
    for further in ((), FOLDED_RULES):
        model = rota_model(space, space.empty_draft(), space.planned_cells())
        for rule in further:
            rule(model)
        status = solve_tasks([Task(model, 1.0, seed, stop_at_first=True)], StopSignal())[0].status
        found.append(status != "infeasible" and not space.impossible_cells)
    work = build(problem, tuple(range(len(problem.sessions))), all_states=True)
    found.append(solve(work, range(len(work.switches)), Effort(5.0)) is True)
    assert found == [found[0]] * 3
