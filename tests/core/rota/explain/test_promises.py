"""What people are told is true: every number is counted again from the plan by other means."""

from collections import Counter
from dataclasses import replace
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.rota.rota_cases import camp, plan_of
from tests.core.rota.solver_cases import a_problem, every_plan
from trips.core.rota.check.checker import check
from trips.core.rota.check.tallies import tallies
from trips.core.rota.explain.promises import Promises, promises, told_share
from trips.core.rota.problem.shares import worst_share
from trips.core.rota.problem.values import LEADER, Plan, Problem
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.solve import solve
from trips.documents.wording.rota import guarantee_sentences
from trips.documents.wording.rota_names import names_of

KINDS = ("early", "late", "early", "late")
GOOD = frozenset((p, s, h) for p, s, h in product(range(4), range(4), range(3)) if (s % 2 == 0) == (h == 0))
LETTERS = ["AABB", "ABAB", "BBAA", "BABA", "CABA", "ABCB", "ACBB", "BBCA"]


@st.composite
def plans(draw: st.DrawFn) -> tuple[Problem, Plan]:
    """A camp with sought-after hides, guests, absences and rests, and a plan without faults."""
    barred = draw(st.frozensets(st.tuples(st.integers(0, 3), st.just(2)), max_size=3))
    problem = camp(kinds=KINDS, good=GOOD, in_demand=draw(st.sampled_from([(), (0,), (0, 2)])), cannot=barred)
    plan = plan_of([draw(st.sampled_from(LETTERS)) for _ in range(4)])
    if not check(problem, plan).is_sound:
        problem = replace(problem, cannot=frozenset())
    return problem, plan


@given(plans())
@settings(max_examples=60, deadline=None)
def test_every_number_is_that_of_a_count_by_hand(drawn: tuple[Problem, Plan]) -> None:
    problem, plan = drawn
    told = promises(problem, plan)
    visits = Counter((turn.person, turn.hide) for turn in plan.turns)
    for demand in told.demand:
        able = [p for p in range(4) if (p, demand.hide) not in problem.cannot]
        numbers = [visits[p, demand.hide] for p in able]
        assert (demand.fewest, demand.most) == (min(numbers), max(numbers))
        assert demand.without == tuple(p for p in able if not visits[p, demand.hide])
        assert demand.unable == tuple(p for p in range(4) if p not in able)
    good = Counter((t.person, KINDS[t.session]) for t in plan.turns if (t.person, t.session, t.hide) in GOOD)
    assert told.good == tuple(
        (kind, min(good[p, kind] for p in range(4)), max(good[p, kind] for p in range(4))) for kind in ("early", "late")
    )
    for counts in told.counts:
        assert counts.good == tuple((kind, good[counts.person, kind]) for kind in ("early", "late"))
    assert told.least_share <= worst_share(problem, plan) < told.least_share + 0.01 + 1e-9


SMALL = [
    {"rests_allowed": (1, 1, 1)},
    {"in_demand": (0,), "sessions": 1},
    {"leader": "coaching", "sessions": 2, "seats": (2, 1)},
    {},
]


def small_problem(seed: int, sessions: int = 3, seats: tuple[int, ...] = (1, 1), **changes: object) -> Problem:
    """Two people, with points of that seed."""
    chance = Random(seed)
    points = tuple(
        tuple(tuple(float(chance.randint(1, 100)) for _ in seats) for _ in range(sessions)) for _ in range(2)
    )
    return a_problem(2, sessions, seats, points=points, **changes)


def same_counts(problem: Problem, plan: Plan) -> tuple[object, ...]:
    """The counts that come before shares: rests, turns in sought-after hides, room for a leader who coaches."""
    counted = tallies(problem, plan)
    people = Counter((turn.session, turn.hide) for turn in plan.turns if turn.person != LEADER)
    room = {session for (session, hide), there in people.items() if there < problem.capacity(session, hide)}
    return counted.rests, [hide.visits for hide in counted.demand], len(room) * (problem.leader == "coaching")


@pytest.mark.parametrize("changes", SMALL)
def test_no_plan_passes_the_bound_that_is_told_with_its_condition(changes: dict) -> None:
    """The planner's bound and sentence against all plans: none passes it; as evenly shared out, where that is told."""
    passed = 0
    for seed in range(12):
        problem = small_problem(seed, **changes)
        outcome = solve(problem, search_time=SearchTime.QUICK)
        assert outcome.plan is not None
        told = guarantee_sentences(promises(problem, outcome.plan, outcome.bound), names_of(problem))
        (sentence,) = (one for one in told if "of their own best" in one)
        others = [plan for plan in every_plan(problem, 5000) or () if check(problem, plan).is_sound]
        own = same_counts(problem, outcome.plan)
        alike = [worst_share(problem, plan) for plan in others if same_counts(problem, plan) == own]
        assert max(alike) <= outcome.bound + 1e-6
        better = [plan for plan in others if worst_share(problem, plan) > outcome.bound + 1e-6]
        passed += bool(better)
        assert ("as evenly" in sentence) or not better, (seed, sentence)
        assert ("No rota can give" in sentence) is not bool(changes)
    assert bool(passed) is bool(changes)


@pytest.mark.parametrize(("bound", "told"), [(0.811, 0.82), (0.81, 0.81), (0.8100000001, 0.81), (1.0, 1.0)])
def test_bounds_are_rounded_up(bound: float, told: float) -> None:
    assert promises(camp(), plan_of(["AABB"] * 4), bound).bound == told


def test_without_a_bound_nothing_is_claimed_about_other_rotas() -> None:
    told = promises(camp(), plan_of(["AABB"] * 4))
    assert told.bound is None
    assert not told.is_best


def test_guests_are_in_no_promise() -> None:
    told: Promises = promises(camp(guests=frozenset({3}), in_demand=(0,)), plan_of(["AAB-"] * 4))
    assert told.demand[0].unable == (3,)
    assert told.guests == 1
    assert told.compared == (0, 1, 2)


def test_the_leaders_good_seats_are_those_somebody_else_could_have_used() -> None:
    problem = camp(kinds=KINDS, good=frozenset({(2, 0, 0)}))
    seated = plan_of(["BBCCA"], seats=False)
    assert (promises(problem, seated).leader_seats, promises(problem, seated).leader_good_seats) == (1, 1)
    barred = replace(problem, cannot=frozenset({(2, 0)}))
    assert promises(barred, seated).leader_good_seats == 0


def test_a_share_is_told_in_hundredths_rounded_down() -> None:
    assert [told_share(share) for share in (0.8877, 0.88, 0.8799999999, 0.999, 1.0)] == [0.88, 0.88, 0.88, 0.99, 1.0]
