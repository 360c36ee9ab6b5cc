"""What people are told is true: every number is counted again from the plan by other means."""

from collections import Counter
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.rota_cases import camp, plan_of
from trips.core.checker import check
from trips.core.moves import moves
from trips.core.promises import Promises, promises
from trips.core.rotation.problem import LEADER, Plan, Problem, Turn
from trips.core.rotation.shares import worst_share

KINDS = ("early", "late", "early", "late")
GOOD = frozenset((p, s, h) for p, s, h in product(range(4), range(4), range(3)) if (s % 2 == 0) == (h == 0))
LETTERS = ["AABB", "ABAB", "BBAA", "BABA", "CABA", "ABCB", "ACBB", "BBCA"]


@st.composite
def plans(draw: st.DrawFn) -> tuple[Problem, Plan]:
    """A camp with hides in demand, guests, absences and rests, and a plan without faults."""
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
        assert demand.barred == tuple(p for p in range(4) if p not in able)
    good = Counter((t.person, KINDS[t.session]) for t in plan.turns if (t.person, t.session, t.hide) in GOOD)
    assert told.good == tuple(
        (kind, min(good[p, kind] for p in range(4)), max(good[p, kind] for p in range(4))) for kind in ("early", "late")
    )
    for counts in told.counts:
        assert counts.good == tuple((kind, good[counts.person, kind]) for kind in ("early", "late"))
    assert told.least_share <= worst_share(problem, plan) < told.least_share + 0.01 + 1e-9


def best_worst_share(problem: Problem) -> float:
    """The best worst share of all sound plans of two sessions of the camp."""
    rows = ["".join(letters) for letters in product("ABC", repeat=4)]
    return max(
        worst_share(problem, plan)
        for first, second in product(rows, repeat=2)
        if len(set(first)) > 1 and len(set(second)) > 1
        for plan in [plan_of([first, second], seats=False)]
        if check(problem, plan).is_sound
    )


def test_the_told_bound_is_never_below_what_some_rota_reaches() -> None:
    full = camp()
    problem = replace(
        full, sessions=full.sessions[:2], points=tuple(person[:2] for person in full.points), open_hides_at_once=2
    )
    best = best_worst_share(problem)
    plan = plan_of(["AABB", "BBAA"], seats=False)
    told = promises(problem, plan, best)
    assert told.bound is not None
    assert told.bound >= best
    assert told.least_share <= worst_share(problem, plan) <= best
    assert told.is_best is (worst_share(problem, plan) >= best - 1e-6)


@pytest.mark.parametrize(("bound", "told"), [(0.811, 0.82), (0.81, 0.81), (0.8100000001, 0.81), (1.0, 1.0)])
def test_bounds_are_rounded_up(bound: float, told: float) -> None:
    assert promises(camp(), plan_of(["AABB"] * 4), bound).bound == told


def test_without_a_bound_nothing_is_claimed_about_other_rotas() -> None:
    told = promises(camp(), plan_of(["AABB"] * 4))
    assert told.bound is None
    assert not told.is_best


def test_guests_are_in_no_promise() -> None:
    told: Promises = promises(camp(guests=frozenset({3}), in_demand=(0,)), plan_of(["AAB-"] * 4))
    assert told.demand[0].barred == (3,)
    assert told.has_guests


def test_the_leaders_good_seats_are_those_somebody_else_could_have_used() -> None:
    problem = camp(kinds=KINDS, good=frozenset({(2, 0, 0)}))
    seated = plan_of(["BBCCA"], seats=False)
    assert (promises(problem, seated).leader_seats, promises(problem, seated).leader_good_seats) == (1, 1)
    barred = replace(problem, cannot=frozenset({(2, 0)}))
    assert promises(barred, seated).leader_good_seats == 0


def test_who_moves_is_told_with_the_rule_that_forces_it() -> None:
    issued = plan_of(["AABB", "BBAA", "CABA", "ABCB"])
    closed = camp(issued=issued, closed=frozenset({(2, 2)}))
    plan = plan_of(["AABB", "BBAA", "BABA", "ABCB"])
    (move,) = moves(closed, plan)
    assert (move.person, move.session, move.old_hide, move.new_hide) == (0, 2, 2, 1)
    assert [fault.rule for fault in move.faults] == ["closed"]


def test_who_makes_room_is_told_which_hide_is_full() -> None:
    issued = plan_of(["AABB", "BBAA", "CABA", "ABCB"])
    problem = camp(issued=issued, closed=frozenset({(2, 2)}), cannot=frozenset({(0, 1)}))
    plan = plan_of(["AABB", "BBAA", "ABBA", "ABCB"])
    found = {move.person: move for move in moves(problem, plan)}
    assert [fault.rule for fault in found[0].faults] == ["closed"]
    assert [fault.rule for fault in found[1].faults] == ["too_many"]
    assert set(found) == {0, 1}


def test_a_move_that_nothing_forces_says_so() -> None:
    problem = camp(issued=plan_of(["AABB"]), sessions=("S1",), points=tuple(p[:1] for p in camp().points))
    found = moves(problem, plan_of(["ABAB"]))
    assert {move.person for move in found} == {1, 2}
    swapped = moves(problem, Plan((Turn(0, 0, 2), *plan_of(["AABB"]).turns[1:])))
    assert [(move.person, move.faults) for move in swapped] == [(0, ())]


def test_a_move_kept_apart_is_for_leaders() -> None:
    problem = camp(issued=plan_of(["AABB"]), apart=((0, 1),))
    found = moves(problem, plan_of(["ABCB"]))
    assert {move.person: move.rests_on_apart for move in found}[1]


def test_the_leaders_own_turns_are_no_moves() -> None:
    problem = camp(issued=plan_of(["AABBC"]))
    assert moves(problem, Plan(tuple(turn for turn in plan_of(["AABB"]).turns if turn.person != LEADER))) == ()
