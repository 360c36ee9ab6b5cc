"""Who moves in a repair, and the rule that would break if that person stayed."""

from tests.core.rota.rota_cases import camp, plan_of
from trips.core.rota.edit.repair_moves import repair_moves
from trips.core.rota.problem.values import LEADER, Plan, Turn


def test_who_moves_is_told_with_the_rule_that_forces_it() -> None:
    issued = plan_of(["AABB", "BBAA", "CABA", "ABCB"])
    closed = camp(issued=issued, closed=frozenset({(2, 2)}))
    plan = plan_of(["AABB", "BBAA", "BABA", "ABCB"])
    (move,) = repair_moves(closed, plan)
    assert (move.person, move.session, move.old_hide, move.new_hide) == (0, 2, 2, 1)
    assert [fault.rule for fault in move.faults] == ["closed"]


def test_who_makes_room_is_told_which_hide_is_full() -> None:
    issued = plan_of(["AABB", "BBAA", "CABA", "ABCB"])
    problem = camp(issued=issued, closed=frozenset({(2, 2)}), cannot=frozenset({(0, 1)}))
    plan = plan_of(["AABB", "BBAA", "ABBA", "ABCB"])
    found = {move.person: move for move in repair_moves(problem, plan)}
    assert [fault.rule for fault in found[0].faults] == ["closed"]
    assert [fault.rule for fault in found[1].faults] == ["too_many"]
    assert set(found) == {0, 1}


def test_a_move_that_nothing_forces_says_so() -> None:
    problem = camp(issued=plan_of(["AABB"]), sessions=("S1",), points=tuple(p[:1] for p in camp().points))
    found = repair_moves(problem, plan_of(["ABAB"]))
    assert {move.person for move in found} == {1, 2}
    swapped = repair_moves(problem, Plan((Turn(0, 0, 2), *plan_of(["AABB"]).turns[1:])))
    assert [(move.person, move.faults) for move in swapped] == [(0, ())]


def test_a_move_kept_apart_is_for_leaders() -> None:
    problem = camp(issued=plan_of(["AABB"]), apart=((0, 1),))
    found = repair_moves(problem, plan_of(["ABCB"]))
    assert {move.person: move.rests_on_apart for move in found}[1]


def test_the_leaders_own_turns_are_no_moves() -> None:
    problem = camp(issued=plan_of(["AABBC"]))
    assert repair_moves(problem, Plan(tuple(turn for turn in plan_of(["AABB"]).turns if turn.person != LEADER))) == ()
