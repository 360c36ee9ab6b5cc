"""Changes of a plan by hand: where people end up, what they break, and when the leader gives way."""

import pytest

from tests.core.rota.rota_cases import camp, hide, plan_of
from trips.core.rota.edit.hand_edits import (
    NothingToChange,
    drop_absent,
    judge_edit,
    move_person,
    rest_person,
    set_stay,
    sort_plan,
    swap_places,
)
from trips.core.rota.problem.values import LEADER, Plan, Turn

ROWS = ["AABB", "BBAA", "CABA", "ABCB"]


def place(plan: Plan, person: int, session: int) -> tuple[int, int] | None:
    """The hide and seat of a person in a session."""
    return next(((t.hide, t.seat) for t in plan.turns if (t.person, t.session) == (person, session)), None)


def test_a_person_moves_to_the_best_free_seat_and_the_figures_follow() -> None:
    before = plan_of(ROWS)
    done = judge_edit(camp(), before, move_person(camp(), before, Turn(0, 0, 2)))
    assert done.is_sound
    assert place(done.plan, 0, 0) == (2, 0)
    assert done.after is not None
    assert done.after.points[0] != done.before.points[0]
    assert done.after.points[1:] == done.before.points[1:]


def test_a_third_person_in_a_hide_of_two_is_refused_by_name() -> None:
    before = plan_of(ROWS)
    done = judge_edit(camp(), before, move_person(camp(), before, Turn(2, 0, 0)))
    assert {fault.rule for fault in done.faults} == {"too_many", "seat_twice"}
    assert all(fault.hides == (0,) for fault in done.faults)


def test_two_people_change_places() -> None:
    before = plan_of(ROWS)
    after = swap_places(before, 0, 0, 2)
    assert (place(after, 0, 0), place(after, 2, 0)) == (place(before, 2, 0), place(before, 0, 0))
    assert swap_places(after, 0, 0, 2) == sort_plan(before)


def test_a_turn_and_a_rest_change_places() -> None:
    problem = camp(rests_allowed=(1,))
    before = plan_of(["-ABB", *ROWS[1:]], rests=((0, 0),))
    after = swap_places(before, 0, 0, 1)
    assert place(after, 0, 0) == place(before, 1, 0)
    assert after.rests == ((1, 0),)
    assert judge_edit(problem, before, after).is_sound


def test_nobody_changes_places_without_a_turn() -> None:
    with pytest.raises(NothingToChange):
        swap_places(plan_of(["--BB"], rests=((0, 0), (1, 0))), 0, 0, 1)


def test_a_move_to_where_one_sits_changes_nothing() -> None:
    before = plan_of(ROWS)
    with pytest.raises(NothingToChange):
        judge_edit(camp(), before, move_person(camp(), before, Turn(0, 0, 0, 0)))


def test_somebody_rests_only_where_it_is_allowed() -> None:
    before = plan_of(ROWS)
    after = rest_person(before, 0, 0)
    assert judge_edit(camp(rests_allowed=(1,)), before, after).is_sound
    assert {fault.rule for fault in judge_edit(camp(), before, after).faults} == {"rests_not_allowed"}
    with pytest.raises(NothingToChange):
        rest_person(after, 0, 0)


def test_the_leader_gives_way_to_a_participant() -> None:
    before = plan_of(["ACBBA", *ROWS[1:]])
    done = judge_edit(camp(), before, move_person(camp(), before, Turn(1, 0, 0)))
    assert done.is_sound
    assert done.leader_gave_way == ((0, 0),)
    assert not any(turn.person == LEADER for turn in done.plan.turns)
    assert place(done.plan, 1, 0) == (0, 1)


def test_the_leader_does_not_give_way_where_that_does_not_help() -> None:
    before = plan_of(["ACBBA", *ROWS[1:]])
    problem = camp(cannot=frozenset({(1, 0)}), closed=frozenset({(1, 2), (2, 2), (3, 2)}))
    done = judge_edit(problem, before, move_person(problem, before, Turn(1, 0, 0)))
    assert "cannot" in {fault.rule for fault in done.faults}
    assert done.leader_gave_way == ()


def test_the_leader_never_gives_way_to_the_leaders_own_move() -> None:
    for row in ("ACBBA", "ACBB"):
        before = plan_of([row, *ROWS[1:]])
        done = judge_edit(camp(), before, move_person(camp(), before, Turn(LEADER, 0, 1, 0)))
        assert {fault.rule for fault in done.faults} == {"too_many", "seat_twice"}
        assert done.leader_gave_way == ()
        assert any(turn.person == LEADER for turn in done.plan.turns)


def test_the_leader_moves_to_a_free_seat_and_leaves_it_again() -> None:
    before = plan_of(["AABC", *ROWS[1:]])
    seated = judge_edit(camp(), before, move_person(camp(), before, Turn(LEADER, 0, 1)))
    assert seated.is_sound
    assert place(seated.plan, LEADER, 0) == (1, 1)
    gone = judge_edit(camp(), seated.plan, rest_person(seated.plan, LEADER, 0))
    assert gone.is_sound
    assert gone.plan == sort_plan(before)


def test_people_leave_a_hide_that_was_closed_one_by_one() -> None:
    problem = camp(closed=frozenset({(0, 0)}), hides=(*camp().hides[:2], hide("Cedar", 2)))
    before = plan_of(ROWS)  # Ada and Ben are in the closed hide
    first = judge_edit(problem, before, move_person(problem, before, Turn(0, 0, 2)))
    assert first.is_sound
    assert [(fault.rule, fault.people) for fault in first.left] == [("closed", (1,))]
    second = judge_edit(problem, first.plan, move_person(problem, first.plan, Turn(1, 0, 2)))
    assert second.is_sound
    assert second.left == ()
    back = judge_edit(problem, second.plan, move_person(problem, second.plan, Turn(1, 0, 0)))
    assert [(fault.rule, fault.people) for fault in back.faults] == [("closed", (1,))]


def test_an_old_fault_does_not_excuse_a_new_one() -> None:
    problem = camp(closed=frozenset({(0, 0)}))
    before = plan_of(ROWS)
    full = judge_edit(problem, before, move_person(problem, before, Turn(0, 0, 1)))
    assert {fault.rule for fault in full.faults} == {"too_many", "seat_twice"}
    other = judge_edit(problem, before, move_person(problem, before, Turn(2, 0, 0)))
    assert {0, 1, 2} in [{*fault.people} for fault in other.faults if fault.rule == "closed"]


def test_a_pair_that_sits_together_leaves_a_closed_hide_one_after_the_other() -> None:
    roomy = (*camp().hides[:2], hide("Cedar", 2))
    problem = camp(closed=frozenset({(0, 0)}), together=((0, 1),), hides=roomy)
    before = plan_of(["AABB"])
    first = judge_edit(problem, before, move_person(problem, before, Turn(0, 0, 2)))
    assert first.is_sound
    assert {fault.rule for fault in first.left} >= {"closed", "together"}
    second = judge_edit(problem, first.plan, move_person(problem, first.plan, Turn(1, 0, 2)))
    assert not {fault.rule for fault in second.left} & {"closed", "together"}
    open_hide = camp(together=((0, 1),), hides=roomy)
    parted = judge_edit(open_hide, before, move_person(open_hide, before, Turn(0, 0, 2)))
    assert "together" in {fault.rule for fault in parted.faults}


def test_whoever_is_absent_by_now_has_no_turn_save_what_is_fixed() -> None:
    before = plan_of(["AABB", "-ABB"], rests=((0, 1),))
    problem = camp(absent=frozenset({(0, 0), (0, 1), (2, 1)}))
    after = drop_absent(problem, before)
    assert [(turn.person, turn.session) for turn in before.turns if turn not in after.turns] == [(0, 0), (2, 1)]
    assert after.rests == ()
    begun = camp(absent=frozenset({(0, 0), (2, 1)}), issued=before, past=1)
    assert place(drop_absent(begun, before), 0, 0) == (0, 0)


def test_a_seat_is_shared_where_that_is_allowed_and_whole_again_afterwards() -> None:
    problem = camp(shared=frozenset({(0, 2)}))
    before = plan_of(["CABB", *ROWS[1:]])
    shared = move_person(problem, before, Turn(1, 0, 2))
    assert [(t.person, t.part) for t in shared.turns if (t.session, t.hide) == (0, 2)] == [(0, 1), (1, 2)]
    assert judge_edit(problem, before, shared).is_sound
    back = move_person(problem, shared, Turn(0, 0, 0))
    assert [(t.person, t.part) for t in back.turns if (t.session, t.hide) == (0, 2)] == [(1, 0)]
    assert judge_edit(problem, shared, back).is_sound


def test_who_stays_keeps_the_seat_and_who_had_it_takes_the_other() -> None:
    before = plan_of(["AABB", "BAAC", *ROWS[2:]])
    assert (place(before, 1, 0), place(before, 1, 1)) == ((0, 1), (0, 0))
    after = set_stay(before, 1, 0, True)
    assert (place(after, 1, 1), place(after, 2, 1)) == ((0, 1), (0, 0))
    done = judge_edit(camp(), before, after)
    assert done.is_sound
    assert done.after is not None
    assert done.after.points[1] > done.before.points[1]  # one visit less
    assert set_stay(after, 1, 0, False).turns[0] == sort_plan(before).turns[0]


def test_a_stay_into_another_hide_is_refused() -> None:
    before = plan_of(ROWS)
    assert {fault.rule for fault in judge_edit(camp(), before, set_stay(before, 0, 0, True)).faults} == {"stay_broken"}
    with pytest.raises(NothingToChange):
        set_stay(before, 0, 0, False)


def test_leaving_the_next_session_ends_a_stay() -> None:
    before = set_stay(plan_of(["AABB", "BAAC", *ROWS[2:]]), 1, 0, True)
    problem = camp()
    after = move_person(problem, before, Turn(1, 1, 2))
    assert not any(turn.stays for turn in after.turns)
