"""Repair: the past and cars that have left stay, as few people as possible move, and that is proved."""

from dataclasses import replace
from functools import cache

import pytest

from tests.core.rota.solver_cases import a_problem, data_problem, every_plan
from trips.core.rota.check.checker import check
from trips.core.rota.check.tallies import tallies
from trips.core.rota.problem.shares import best_alone
from trips.core.rota.problem.values import LEADER, Pin, Plan, Problem, ProblemHide, ProblemSeat, Turn
from trips.core.rota.search import repair
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.solve import solve

MANY = "8x5x10-1"


@cache
def long_rota() -> Plan:
    """A rota of eight people, five hides and ten sessions."""
    return issued_rota(data_problem(MANY))


def issued_rota(problem: Problem) -> Plan:
    plan = solve(problem, search_time=SearchTime.QUICK).plan
    assert plan is not None
    return plan


def repaired(problem: Problem) -> tuple[Plan, int]:
    """The sound repair and the changes that its stage states, proved."""
    outcome = solve(problem, search_time=SearchTime.QUICK)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    stage = next(stage for stage in outcome.stages if stage.name == "changes")
    assert stage.proved
    assert stage.best == stage.bound
    return outcome.plan, int(stage.value)


def closed_later(mode: str) -> Problem:
    """A rota under way, two hides of one session closed."""
    problem, plan = data_problem(MANY), long_rota()
    used = sorted({turn.hide for turn in plan.turns if turn.session == 7})
    closed = problem.closed | {(7, hide) for hide in used[:2]}
    return replace(
        problem, issued=plan, past=4, closed=closed, best_alone=best_alone(problem), repair=mode, tolerance=0.01
    )


def test_nothing_to_repair_moves_nobody() -> None:
    problem, plan = data_problem(MANY), long_rota()
    mended, changes = repaired(replace(problem, issued=plan, past=3, repair="fewest"))
    assert changes == 0
    assert set(mended.turns) == set(plan.turns)


def test_only_the_touched_session_changes_and_the_past_never() -> None:
    problem = closed_later("fewest")
    problem = replace(problem, visits_at_most=len(problem.sessions))  # no visit too many elsewhere
    mended, changes = repaired(problem)
    counted = tallies(problem, mended)
    assert len(counted.changes) == changes
    assert {session for _, session in counted.changes} == {7}
    assert {turn for turn in mended.turns if turn.session < 4} == {
        turn for turn in problem.issued.turns if turn.session < 4
    }


def test_a_few_more_changes_are_two_at_most_and_never_worse_for_the_worst_off() -> None:
    fewest, least = repaired(closed_later("fewest"))
    few, _ = repaired(closed_later("few"))
    problem = closed_later("few")
    assert len(tallies(problem, few).changes) <= least + 2
    assert tallies(problem, few).worst_share >= 0.99 * tallies(problem, fewest).worst_share - 1e-6


def test_free_repair_keeps_the_past_and_may_move_everybody_else() -> None:
    problem = closed_later("free")
    outcome = solve(problem, search_time=SearchTime.QUICK)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert "changes" not in {stage.name for stage in outcome.stages}
    assert outcome.worst_share >= tallies(problem, repaired(closed_later("fewest"))[0]).worst_share - 1e-6


@pytest.mark.parametrize("session", range(2))
def test_fewest_changes_match_a_comparison_of_all_plans(session: int) -> None:
    points = tuple(
        tuple(tuple(float((17 * p + 31 * s + 13 * h) % 90) for h in range(3)) for s in range(2)) for p in range(4)
    )
    problem = a_problem(4, 2, (2, 1, 1), points=points)
    plan = issued_rota(problem)
    hide = next(turn.hide for turn in plan.turns if turn.session == session)
    rests = tuple(2 if when == session else 0 for when in range(2))
    broken = replace(problem, issued=plan, closed=frozenset({(session, hide)}), repair="fewest", rests_allowed=rests)
    plans = every_plan(broken, 10_000)
    assert plans is not None
    sound = [tallies(broken, other) for other in plans if not check(broken, other).faults]
    fewest = min((sum(counted.rests), counted.rests_repeated) for counted in sound)
    least = min(len(c.changes) for c in sound if (sum(c.rests), c.rests_repeated) == fewest)
    assert repaired(broken)[1] == least


def test_who_sits_in_a_car_that_has_left_stays_and_nobody_joins() -> None:
    problem, plan = data_problem(MANY), long_rota()
    hide = next(turn.hide for turn in plan.turns if turn.session == 5 and turn.person >= 0)
    gone = next(turn.person for turn in plan.turns if turn.session == 5 and turn.hide != hide and turn.person >= 0)
    late = replace(
        problem, issued=plan, frozen=frozenset({(5, hide)}), repair="fewest", absent=problem.absent | {(gone, 5)}
    )
    mended, _ = repaired(late)
    before = {turn for turn in plan.turns if (turn.session, turn.hide) == (5, hide)}
    assert {turn for turn in mended.turns if (turn.session, turn.hide) == (5, hide)} == before


def test_a_rule_over_the_whole_trip_can_force_changes_elsewhere_and_that_is_proved_too() -> None:
    """One visit each: pinning somebody where they sit later anyway moves them later as well."""
    points = ((((50.0, 50.0),) * 2),) * 2
    problem = a_problem(2, 2, (1, 1), points=points, visits_at_most=1)
    plan = issued_rota(problem)
    later = next(turn for turn in plan.turns if turn.session == 1)
    pinned = replace(problem, issued=plan, pins=(Pin(later.person, 0, later.hide),), repair="fewest")
    _, changes = repaired(pinned)
    assert changes == 4


def test_a_rule_over_the_whole_trip_holds_too_where_a_closed_hide_leaves_one_choice() -> None:
    """The second person has to go where a later session has them already, and one visit is all the rule allows."""
    problem = a_problem(3, 2, (2, 2, 1), visits_at_most=1, cannot=frozenset({(1, 2), (2, 1)}))
    issued = Plan(
        (Turn(2, 0, 0, 0), Turn(0, 0, 1, 0), Turn(1, 0, 1, 1), Turn(0, 1, 0, 0), Turn(1, 1, 0, 1), Turn(2, 1, 2, 0))
    )
    _, changes = repaired(replace(problem, issued=issued, closed=frozenset({(0, 1)}), repair="fewest"))
    assert changes == 3


@pytest.mark.parametrize(("mode", "most"), [("fewest", 0), ("few", 2)])
@pytest.mark.parametrize("rests", [(), (1, 1)])
def test_a_coaching_leader_moves_nobody_more_than_the_repair_allows(mode: str, most: int, rests: tuple) -> None:
    """Both sit in a hide of two: a seat for the leader would cost a move."""
    problem = a_problem(2, 2, (2, 2), leader="coaching", rests_allowed=rests)
    issued = Plan(tuple(Turn(person, session, 0, person) for session in range(2) for person in range(2)))
    mended, _ = repaired(replace(problem, issued=issued, repair=mode))
    assert len(tallies(replace(problem, issued=issued), mended).changes) <= most


def test_a_coaching_leader_keeps_a_seat_in_the_sessions_that_a_repair_leaves_alone() -> None:
    problem = a_problem(3, 3, (4, 4), leader="coaching")
    plan = issued_rota(problem)
    there = next(turn.hide for turn in plan.turns if turn.session == 1)
    outcome = solve(replace(problem, issued=plan, closed=frozenset({(1, there)}), repair="fewest"))
    assert outcome.plan is not None
    assert {turn.session for turn in outcome.plan.turns if turn.person == LEADER} == {0, 1, 2}
    stage = next(stage for stage in outcome.stages if stage.name == "leader_seats")
    assert (stage.best, stage.bound, stage.proved) == (3, 3, True)


@pytest.mark.parametrize("mode", ["fewest", "few"])
@pytest.mark.parametrize("lost_by", [0, 1])
def test_whoever_loses_the_seat_moves_rather_than_somebody_who_keeps_it(mode: str, lost_by: int) -> None:
    """One of two seats is out of use. The one whose seat is sound would even like to go; but then both would move."""
    points = tuple((((50.0, 40.0 if person == lost_by else 60.0),)) for person in range(2))
    problem = a_problem(2, 1, (2, 1), points=points, issued=Plan((Turn(0, 0, 0, 0), Turn(1, 0, 0, 1))), repair=mode)
    seats = tuple(ProblemSeat(f"s{i}", out_from=0 if i == lost_by else None) for i in range(2))
    problem = replace(problem, hides=(ProblemHide("H1", seats), problem.hides[1]))
    mended, changes = repaired(problem)
    counted = tallies(problem, mended)
    assert (changes, counted.changes, counted.seat_changes) == (1, ((lost_by, 0),), ())


def test_whoever_loses_the_seat_to_a_pin_moves_rather_than_a_third() -> None:
    """The second is pinned to the first one's seat; there is a free seat in another hide, and one person too many."""
    points = tuple((((50.0, 60.0 if person == 2 else 40.0),)) for person in range(3))
    issued = Plan((Turn(0, 0, 0, 0), Turn(1, 0, 1, 0), Turn(2, 0, 0, 1)))
    problem = a_problem(3, 1, (2, 2), points=points, pins=(Pin(1, 0, 0, 0),), issued=issued, repair="fewest")
    counted = tallies(problem, repaired(problem)[0])
    assert (counted.changes, counted.seat_changes) == (((0, 0), (1, 0)), ())


def with_guest(problem: Problem, name: str = "Guest") -> Problem:
    """The problem with one more person, who takes no pictures and may sit anywhere."""
    points = tuple(tuple(60.0 for _ in problem.hides) for _ in problem.sessions)
    guest = len(problem.people)
    return replace(problem, people=(*problem.people, name), points=(*problem.points, points), guests=frozenset({guest}))


def test_a_guest_who_comes_later_gets_the_spare_seats_and_nobody_moves() -> None:
    problem, plan = with_guest(data_problem(MANY)), long_rota()
    mended, changes = repaired(
        replace(problem, issued=plan, past=3, repair="fewest", best_alone=best_alone(problem), tolerance=0.01)
    )
    assert changes == 0
    guest = len(problem.people) - 1
    stays = {turn for turn in plan.turns if turn.person != LEADER}  # whose spare seat a guest may need
    assert {turn for turn in mended.turns if turn.person not in (guest, LEADER)} == stays
    assert len([turn for turn in mended.turns if turn.person == guest]) == len(problem.sessions) - 3
    assert tallies(problem, mended).worst_share == tallies(data_problem(MANY), plan).worst_share


def test_a_guest_keeps_an_issued_seat_and_costs_no_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = with_guest(data_problem(MANY))
    seated = repaired(
        replace(problem, issued=long_rota(), past=3, repair="fewest", best_alone=best_alone(problem), tolerance=0.01)
    )[0]

    def proved(*_: object) -> int:
        raise AssertionError("a session in which nothing has to change was proved by a model")

    monkeypatch.setattr(repair, "_least_changes", proved)
    again, changes = repaired(replace(problem, issued=seated, past=4, repair="fewest", best_alone=best_alone(problem)))
    assert changes == 0
    assert set(again.turns) == set(seated.turns)


def test_a_seat_that_is_needed_is_taken_from_the_guest_before_anybody_moves() -> None:
    """Two photographers, two seats and a guest on one of them: the photographer who comes later gets the guest's."""
    issued = Plan((Turn(0, 0, 0, 0), Turn(2, 0, 0, 1)))
    problem = a_problem(3, 1, (2,), guests=frozenset({2}), issued=issued, repair="fewest", best_alone=(50.0,) * 3)
    mended, changes = repaired(problem)
    assert changes == 1
    assert [(turn.person, turn.seat) for turn in mended.turns] == [(0, 0), (1, 1)]


def test_guests_count_in_no_share() -> None:
    problem = a_problem(2, 1, (1,), guests=frozenset({1}))
    outcome = solve(problem, search_time=SearchTime.QUICK)
    assert (outcome.worst_share, outcome.shares) == (1.0, (1.0, 1.0))
    assert tallies(problem, issued_rota(problem)).worst_share == 1.0
