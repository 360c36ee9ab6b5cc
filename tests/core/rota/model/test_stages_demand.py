"""Sought-after hides: who sits there, who is drawn, and who went without."""

import pytest

from tests.core.rota.model.planned_rotas import planned
from tests.core.rota.solver_cases import a_problem
from trips.core.rota.model.space import OUT, Draft
from trips.core.rota.model.stages import draw_steps
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.preprocess import preprocess
from trips.core.rota.search.solve import solve


def wanted(people: int, sessions: int, **changes: object) -> Problem:
    """One seat that is worth 100, and seats for all elsewhere worth 10."""
    points = ((((100.0, 10.0),) * sessions),) * people
    return a_problem(people, sessions, (1, people), points=points, in_demand=(0,), **changes)


def test_one_seat_that_six_want_goes_to_four_different_people_in_four_sessions() -> None:
    problem = wanted(6, 4)
    outcome, counted = planned(problem)
    served = {turn.person for turn in outcome.plan.turns if turn.hide == 0}
    assert len(served) == 4
    assert counted.without_turn == 2


def test_who_went_without_comes_first_in_the_next_rota() -> None:
    first = solve(wanted(6, 4)).plan
    served = {turn.person for turn in first.turns if turn.hide == 0}
    waiting = set(range(6)) - served
    for seed in range(3):
        problem = wanted(6, 4, owed=frozenset((person, 0) for person in waiting))
        outcome, _ = planned(problem, seed)
        assert waiting <= {turn.person for turn in outcome.plan.turns if turn.hide == 0}


def test_another_seed_draws_other_people() -> None:
    drawn = {
        frozenset(turn.person for turn in solve(wanted(6, 2), seed=seed).plan.turns if turn.hide == 0)
        for seed in range(8)
    }
    assert len(drawn) > 1


def going_without(problem: Problem, without: set[tuple[int, int]], seed: int = 0) -> tuple[int, ...]:
    """What the draw's steps count where those (person, hide) alone have no turn in a sought-after hide."""
    space = preprocess(problem)
    cells = [
        [hide if (person, hide) not in without else OUT for hide in problem.in_demand]
        + [OUT] * (space.sessions - len(problem.in_demand))
        for person in range(space.people)
    ]
    draft = Draft(cells, [OUT] * space.sessions)
    return tuple(step.value(space, draft) for step in draw_steps(problem, seed))


@pytest.mark.parametrize("people", [2, 10, 40])
def test_no_number_of_others_outweighs_one_who_is_owed_a_turn(people: int) -> None:
    for seed in range(3):
        owed = (seed % people, 1)
        problem = a_problem(people, 4, (4,) * 4, in_demand=(0, 1, 2), owed=frozenset({owed}))
        others = {(person, hide) for person in range(people) for hide in range(3)} - {owed}
        assert going_without(problem, others, seed) < going_without(problem, {owed}, seed)


@pytest.mark.parametrize("people", [2, 10, 40])
def test_who_is_drawn_first_outweighs_all_who_are_drawn_later(people: int) -> None:
    problem = a_problem(people, 4, (4,) * 4, in_demand=(0, 1, 2))
    alone = {person: going_without(problem, {(person, 0)}) for person in range(people)}
    order = sorted(alone, key=lambda person: alone[person], reverse=True)
    for place, person in enumerate(order[:-1]):
        later = {(other, hide) for other in order[place + 1 :] for hide in range(3)}
        assert going_without(problem, later) < alone[person]


def test_a_step_of_the_draw_stays_far_below_the_solvers_largest_number() -> None:
    problem = a_problem(40, 4, (4,) * 4, in_demand=(0, 1, 2), owed=frozenset({(5, 0), (6, 2)}))
    steps = draw_steps(problem, 0)
    assert all(sum(step.weights.values()) <= 2**24 for step in steps)
    assert [step.is_last for step in steps] == [False] * (len(steps) - 1) + [True]
    assert sorted(cell for step in steps for cell in step.weights) == [(p, h) for p in range(40) for h in range(3)]


def test_a_rota_leaves_out_four_who_are_drawn_later_rather_than_one_who_is_drawn_first() -> None:
    """Two parties of four want the only bench; the sum of the others' places in the draw is larger."""
    for seed in range(4):
        alone = a_problem(8, 4, (4,) * 4, in_demand=(0,))
        drawn = sorted(range(8), key=lambda person: going_without(alone, {(person, 0)}, seed))
        party, others = [drawn[7], *drawn[:3]], drawn[3:7]
        together = tuple((group[0], other) for group in (party, others) for other in group[1:])
        outcome, _ = planned(a_problem(8, 1, (4, 4), in_demand=(0,), together=together), seed)
        assert {turn.person for turn in outcome.plan.turns if turn.hide == 0} == set(party)


def test_turns_in_demand_are_spread_though_points_would_have_it_otherwise() -> None:
    """The first person gains ten times as much from the hide; still nobody gets two turns more than another."""
    points = tuple((((100.0 if person == 0 else 11.0), 10.0),) * 6 for person in range(3))
    problem = a_problem(3, 6, (1, 3), points=points, in_demand=(0,), visit_loss=(0.0,))
    _, counted = planned(problem)
    assert counted.without_turn == 0
    assert max(counted.demand[0].visits) - min(counted.demand[0].visits) <= 2
    assert counted.demand_excess == 0
