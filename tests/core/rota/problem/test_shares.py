"""Points, losses and shares: against brute force, an independent assignment and sums done by hand."""

import json
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from tests.core.rota.rota_cases import camp, hide, plan_of
from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.problem.shares import (
    assign,
    averages,
    best_alone,
    counts_for_shares,
    pairs_met,
    points_of,
    shares_of,
    visits,
    worst_share,
)
from trips.core.rota.problem.values import LEADER, NO_SEAT, Pin, Plan, Problem, Turn

DATA = Path(__file__).parents[1] / "data"


def alone(points: list[list[float]], **changes: object) -> Problem:
    """One person with these points [session][hide]."""
    return Problem(
        name="alone",
        people=("Ada",),
        sessions=tuple(f"S{i}" for i in range(len(points))),
        hides=tuple(hide(f"H{i}", 1) for i in range(len(points[0]))),
        points=(tuple(tuple(row) for row in points),),
        **changes,  # type: ignore[arg-type]
    )


def test_averages_leave_closed_sessions_out_but_not_absences() -> None:
    problem = alone([[10, 1], [30, 2], [80, 3]], closed=frozenset({(2, 0)}), absent=frozenset({(0, 0)}))
    assert averages(problem).tolist() == [[20.0, 2.0]]


def test_points_are_turns_less_the_losses_of_later_visits() -> None:
    problem = alone([[10.0], [20.0], [30.0]])
    plan = Plan(tuple(Turn(0, session, 0) for session in range(3)))
    assert points_of(problem, plan) == pytest.approx((60 - 20 * (0.4 + 0.65),))


def test_losses_beyond_the_list_stay_at_its_last_entry() -> None:
    problem = alone([[10.0]] * 4, visit_loss=(0.0, 0.5))
    plan = Plan(tuple(Turn(0, session, 0) for session in range(4)))
    assert points_of(problem, plan) == pytest.approx((40 - 10 * 1.5,))


def test_no_loss_where_the_person_wants_to_go_back() -> None:
    problem = alone([[10.0]] * 4, no_loss=frozenset({(0, 0)}))
    assert points_of(problem, Plan(tuple(Turn(0, session, 0) for session in range(4)))) == pytest.approx((40.0,))


def test_joined_sessions_and_stays_are_one_visit() -> None:
    turns = tuple(Turn(0, session, 0, stays=session == 2) for session in range(4))
    problem = alone([[10.0]] * 4, joined=((0, (0, 1)),))
    assert [len(visit) for visit in visits(problem, turns)] == [2, 2]
    assert points_of(problem, Plan(turns)) == pytest.approx((40 - 10 * 0.4,))
    stay_asked = alone([[10.0]] * 4, stays=frozenset({(0, 0, 0), (0, 1, 0), (0, 2, 0)}))
    assert len(visits(stay_asked, [replace(turn, stays=False) for turn in turns])) == 1


def test_two_people_on_a_handed_over_seat_get_half_the_points_each() -> None:
    problem = replace(camp(), people=("Ada", "Ben"), points=(((40.0, 0, 0),), ((60.0, 0, 0),)), sessions=("S",))
    assert points_of(problem, Plan((Turn(0, 0, 0, 0, part=1), Turn(1, 0, 0, 0, part=2)))) == (20.0, 30.0)


def test_who_can_get_nothing_has_share_one_and_is_not_compared() -> None:
    problem = camp(cannot=frozenset({(0, 0), (0, 1), (0, 2)}))
    assert best_alone(problem)[0] == 0
    assert shares_of(problem, plan_of(["-ABB"] * 4))[0] == 1.0
    assert counts_for_shares(problem) == (1, 2, 3)
    nobody = camp(absent=frozenset((p, s) for p in range(4) for s in range(4)))
    assert worst_share(nobody, Plan()) == 1.0


def test_the_leader_meets_nobody_and_has_no_points() -> None:
    plan = plan_of(["AABBA"])
    assert pairs_met(plan) == 2
    assert points_of(camp(), plan) == points_of(camp(), Plan(tuple(t for t in plan.turns if t.person != LEADER)))


def test_a_repair_keeps_the_bests_as_issued() -> None:
    assert best_alone(camp(best_alone=(1.0, 2.0, 3.0, 4.0))) == (1.0, 2.0, 3.0, 4.0)


def test_nothing_to_do_is_no_crash() -> None:
    empty = Problem("empty", (), (), (), ())
    assert (best_alone(empty), shares_of(empty, Plan()), worst_share(empty, Plan())) == ((), (), 1.0)
    assert best_alone(camp(hides=())) == (0.0,) * 4


@st.composite
def lonely(draw: st.DrawFn) -> Problem:
    """One person, up to five sessions and three hides, with closed hides, pins, limits and allowed rests."""
    sessions, hides = draw(st.integers(1, 5)), draw(st.integers(1, 3))
    pairs = st.frozensets(st.tuples(st.integers(0, sessions - 1), st.integers(0, hides - 1)), max_size=4)
    pinned = draw(st.dictionaries(st.integers(0, sessions - 1), st.integers(0, hides - 1), max_size=2))
    return alone(
        draw(
            st.lists(
                st.lists(st.integers(0, 100), min_size=hides, max_size=hides), min_size=sessions, max_size=sessions
            )
        ),
        closed=draw(pairs),
        absent=draw(st.frozensets(st.tuples(st.just(0), st.integers(0, sessions - 1)), max_size=2)),
        pins=tuple(Pin(0, session, where) for session, where in pinned.items()),
        visits_at_most=draw(st.one_of(st.none(), st.integers(1, 3))),
        rests_allowed=tuple(draw(st.lists(st.integers(0, 1), min_size=sessions, max_size=sessions))),
    )


def best_by_trying(problem: Problem) -> float:
    """All ways to spend the sessions: as many turns as can be where no rest is allowed, then the most points."""
    pinned = {pin.session: pin.hide for pin in problem.pins}
    choices = []
    for session in range(len(problem.sessions)):
        hides = [h for h in range(len(problem.hides)) if problem.may_sit(0, session, h) and pinned.get(session, h) == h]
        choices.append([NO_SEAT, *hides])
    found = []
    for chosen in product(*choices):
        if any(chosen.count(h) > (problem.visits_at_most or 99) for h in range(len(problem.hides))):
            continue
        turns = tuple(Turn(0, session, h) for session, h in enumerate(chosen) if h != NO_SEAT)
        missing = [
            session
            for session, h in enumerate(chosen)
            if h == NO_SEAT and (0, session) not in problem.absent and (session in pinned or not problem.rests(session))
        ]
        found.append((-len(missing), points_of(problem, Plan(turns))[0]))
    return max(found)[1]


@given(lonely())
@settings(max_examples=120, deadline=None)
def test_the_best_alone_is_the_best_of_all_ways(problem: Problem) -> None:
    assert best_alone(problem)[0] == pytest.approx(best_by_trying(problem))


@given(st.integers(1, 6), st.integers(0, 5), st.integers(0, 2**31 - 1), st.booleans())
@settings(max_examples=80, deadline=None)
def test_assignments_cost_what_an_independent_one_costs(rows: int, more: int, seed: int, whole: bool) -> None:
    cost = np.random.default_rng(seed).normal(size=(rows, rows + more)) * 10
    cost = np.round(cost) if whole else cost
    chosen = assign(cost)
    assert len(set(chosen)) == rows
    assert cost[range(rows), chosen].sum() == pytest.approx(cost[linear_sum_assignment(cost)].sum())


def plans_of_a_session(problem: Problem, session: int) -> list[tuple[Turn, ...]]:
    """Every seating of one session that keeps the rules of that session."""
    found = []
    present = problem.present(session)
    for chosen in product(range(len(problem.hides)), repeat=len(present)):
        where = dict(zip(present, chosen, strict=True))
        counts = [chosen.count(h) for h in range(len(problem.hides))]
        keeps = (
            all(problem.may_sit(p, session, h) for p, h in where.items())
            and all(c <= problem.capacity(session, h) for h, c in enumerate(counts))
            and all(not c or c >= problem.hides[h].minimum_people for h, c in enumerate(counts))
            and sum(1 for c in counts if c) <= (problem.open_hides_at_once or 99)
            and all(where[pin.person] == pin.hide for pin in problem.pins if pin.session == session)
            and all(where.get(a, -1) == where.get(b, -1) for a, b in problem.together if a in where and b in where)
            and all(where[a] != where[b] for a, b in problem.apart if a in where and b in where)
        )
        if keeps:
            found.append(tuple(Turn(p, session, h) for p, h in where.items()))
    return found


@pytest.mark.parametrize("path", sorted(DATA.glob("tiny-*.json")), ids=lambda path: path.stem)
def test_the_best_of_all_plans_has_the_published_shares(path: Path) -> None:
    """The optima in the files were found apart from this code, by comparing all plans."""
    optimum = json.loads(path.read_text())["optimum"]
    problem = read_problem(path.read_text())
    best, compared = (0.0, 0.0), 0
    for sessions in product(*(plans_of_a_session(problem, session) for session in range(len(problem.sessions)))):
        turns = [turn for session in sessions for turn in session]
        places = [(turn.person, turn.hide) for turn in turns]
        if any(places.count(place) > (problem.visits_at_most or 99) for place in set(places)):
            continue
        compared += 1
        shares = shares_of(problem, Plan(tuple(turns)))
        best = max(best, (round(min(shares), 6), round(sum(shares), 6)))
    assert compared == optimum["plans_compared"]
    assert best == pytest.approx((optimum["worst_share"], optimum["total_of_shares"]), abs=2e-6)
