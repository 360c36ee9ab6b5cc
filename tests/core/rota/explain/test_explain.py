"""Conflicts are found and named, and what is offered resolves them."""

from dataclasses import replace

import pytest

from tests.core.rota.explain.conflicts import helps, people
from tests.core.rota.rota_cases import camp, hide
from trips.core.rota.explain.conflicts import Conflict, Help, Reason
from trips.core.rota.explain.counting import count_conflicts, mutual_group, unmatched_group
from trips.core.rota.explain.explain import explain
from trips.core.rota.problem.values import LEADER, Pin, Problem, ProblemHide, ProblemSeat

A_SEAT_OUT = (ProblemHide("A", (ProblemSeat("a1"), ProblemSeat("a2", out_from=1))), hide("B", 2), hide("C", 1))
FOUR_HIDES = (hide("A", 2), hide("B", 2), hide("C", 1), hide("D", 2))


def only_conflict(problem: Problem) -> Conflict:
    """The one conflict of a problem that has one."""
    explanation = explain(problem)
    assert explanation.verdict == "impossible"
    (conflict,) = explanation.conflicts
    return conflict


def test_eight_people_and_seven_seats_are_counted_before_any_search() -> None:
    conflict = only_conflict(camp(people=people(8), sessions=("Sat early",), hides=FOUR_HIDES))
    assert conflict.found_by == "counting"
    (reason,) = conflict.reasons
    assert reason.rule == "seats"
    assert dict(reason.figures) == {"people": 8, "rests": 0, "seats": 7, "short": 1}
    assert set(helps(conflict)) == {"rest", "share_seat", "add_seat"}
    assert dict(helps(conflict)["rest"].figures)["people"] == 1
    assert helps(conflict)["add_seat"].hides == (0, 1, 2, 3)


def test_nine_people_are_two_seats_short_and_one_rest_is_not_offered() -> None:
    conflict = only_conflict(camp(people=people(9), sessions=("Sat early",), hides=FOUR_HIDES))
    assert dict(conflict.reasons[0].figures)["short"] == 2
    assert dict(helps(conflict)["rest"].figures)["people"] == 2
    assert "add_seat" not in helps(conflict)


def test_who_fits_into_no_hide_is_named_alone() -> None:
    problem = camp(people=people(6), hides=FOUR_HIDES, cannot=frozenset((5, where) for where in range(4)))
    conflict = only_conflict(problem)
    (reason,) = conflict.reasons
    assert (reason.rule, reason.people, reason.sessions) == ("no_hide", (5,), (0, 1, 2, 3))
    assert helps(conflict)["lift_limit"].hides == (0, 1, 2, 3)


def test_a_pair_pinned_to_a_single_seat_names_pair_pin_and_seat_and_nothing_else() -> None:
    problem = camp(people=people(6), hides=FOUR_HIDES, together=((0, 1),), pins=(Pin(0, 0, 2),))
    conflict = only_conflict(problem)
    assert sorted(reason.rule for reason in conflict.reasons) == ["capacity", "pin", "together"]
    assert {person for reason in conflict.reasons for person in reason.people} == {0, 1}
    assert {where for reason in conflict.reasons for where in reason.hides} == {2}
    assert {"unpin", "let_sit_apart", "add_seat", "share_seat"} <= set(helps(conflict))


def test_two_people_pinned_to_a_single_seat_are_counted() -> None:
    problem = camp(people=people(6), hides=FOUR_HIDES, pins=(Pin(0, 0, 2), Pin(1, 0, 2)))
    conflict = only_conflict(problem)
    assert [(reason.rule, reason.people, reason.hides) for reason in conflict.reasons] == [("pins_seats", (0, 1), (2,))]
    assert {offer.people for offer in conflict.helps if offer.change == "unpin"} == {(0,), (1,)}


def test_a_closed_hide_is_offered_only_while_it_can_still_be_made_ready() -> None:
    closed = camp(people=people(6), hides=FOUR_HIDES, closed=frozenset({(1, 3)}))
    assert "open_hide" not in helps(only_conflict(closed))
    possible = replace(closed, possible=frozenset({(1, 3)}))
    assert helps(only_conflict(possible))["open_hide"] == Help("open_hide", (), (1,), (3,))


def test_two_people_with_one_seat_between_them_are_named_without_the_others() -> None:
    problem = camp(cannot=frozenset({(0, 0), (0, 1), (1, 0), (1, 1)}))
    conflict = only_conflict(problem)
    assert [(reason.rule, reason.people, reason.hides) for reason in conflict.reasons] == [("few_hides", (0, 1), (2,))]


def test_only_apart_rests_on_what_leaders_alone_may_read() -> None:
    problem = camp(people=people(2), hides=(hide("A", 2),), apart=((0, 1),))
    conflict = only_conflict(problem)
    assert conflict.rests_on_apart
    assert {"rest", "apart_may_meet"} <= set(helps(conflict))
    seats = only_conflict(camp(people=people(8), hides=FOUR_HIDES, apart=((0, 1),)))
    assert not seats.rests_on_apart


def test_many_who_keep_apart_are_counted_against_the_hides() -> None:
    problem = camp(apart=tuple((a, b) for a in range(4) for b in range(a)))
    conflict = only_conflict(problem)
    assert (conflict.found_by, conflict.reasons[0].rule) == ("counting", "apart_hides")


def test_the_same_hide_twice_running_is_a_conflict_of_the_trip() -> None:
    problem = camp(
        people=people(2), hides=(hide("A", 2), hide("B", 1)), cannot=frozenset({(0, 1)}), never_twice_running=True
    )
    conflict = only_conflict(problem)
    assert conflict.found_by == "trip"
    assert {reason.rule for reason in conflict.reasons} == {"turn", "twice_running"}
    assert {person for reason in conflict.reasons for person in reason.people} == {0}
    assert helps(conflict) == {"allow_running": Help("allow_running")}


def test_too_many_sessions_in_a_row_are_counted_where_rests_are_too_few() -> None:
    problem = camp(consecutive_turns_at_most=2, rests_allowed=(0, 1, 1, 0))
    conflict = only_conflict(problem)
    (reason,) = conflict.reasons
    assert (reason.rule, reason.sessions) == ("rests_in_a_row", (0, 1, 2, 3))
    assert (dict(reason.figures)["people"], dict(reason.figures)["rests"], dict(reason.figures)["short"]) == (4, 2, 2)
    assert dict(helps(conflict)["rest"].figures)["people"] == 1
    assert dict(helps(conflict)["more_in_a_row"].figures)["most"] == 4


def test_too_many_sessions_in_a_row_are_a_conflict_of_the_trip() -> None:
    """The rests suffice in number, but whoever is pinned in all sessions cannot have one."""
    pins = tuple(Pin(0, session, 0) for session in range(4))
    problem = camp(consecutive_turns_at_most=2, rests_allowed=(4,) * 4, pins=pins)
    conflict = only_conflict(problem)
    assert {reason.rule for reason in conflict.reasons} == {"pin", "consecutive_turns"}
    assert {"unpin", "more_in_a_row"} <= set(helps(conflict))


def test_people_who_share_a_piece_and_fit_no_one_hide_are_told_to_do_without_it_or_to_rest() -> None:
    cannot = frozenset({(0, 1), (0, 2), (1, 0)})
    conflict = only_conflict(camp(sharers=frozenset({(0, 1, 2)}), cannot=cannot))
    assert {reason.rule for reason in conflict.reasons} >= {"one_piece", "cannot"}
    assert helps(conflict)["end_sharing"] == Help("end_sharing", (0, 1), (2,))
    assert dict(helps(conflict)["rest"].figures)["people"] == 1


def test_too_few_visits_are_counted_for_each_person() -> None:
    problem = camp(people=people(1), hides=(hide("A", 2), hide("B", 1)), visits_at_most=1)
    (reason,) = only_conflict(problem).reasons
    assert (reason.rule, dict(reason.figures)["sessions"], dict(reason.figures)["visits"]) == ("visits", 3, 2)
    assert dict(helps(only_conflict(problem))["more_visits"].figures)["most"] == 2


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("together_and_apart", {"together": ((0, 1),), "apart": ((1, 0),)}),
        ("pin_closed", {"pins": (Pin(0, 0, 0),), "closed": frozenset({(0, 0)}), "rests_allowed": (4, 4, 4, 4)}),
        ("pin_absent", {"pins": (Pin(0, 0, 0),), "absent": frozenset({(0, 0)})}),
        ("pin_cannot", {"pins": (Pin(0, 0, 0),), "cannot": frozenset({(0, 0)})}),
        ("pin_cannot", {"pins": (Pin(LEADER, 0, 0),), "cannot_then": frozenset({(LEADER, 0, 0)})}),
        ("pin_seat_out", {"pins": (Pin(0, 1, 0, 1),), "hides": A_SEAT_OUT}),
        ("pin_seat_out", {"pins": (Pin(LEADER, 1, 0, 1),), "hides": A_SEAT_OUT}),
        ("pins_one_seat", {"pins": (Pin(0, 0, 0, 1), Pin(1, 0, 0, 1))}),
        ("pins_one_seat", {"pins": (Pin(LEADER, 0, 0, 1), Pin(1, 0, 0, 1)), "shared": frozenset({(0, 0)})}),
        ("pins_apart", {"pins": (Pin(0, 0, 0), Pin(1, 0, 0)), "apart": ((0, 1),)}),
        ("pins_together", {"pins": (Pin(0, 0, 0), Pin(1, 0, 1)), "together": ((0, 1),)}),
        ("pins_one_piece", {"pins": (Pin(0, 0, 0), Pin(1, 0, 1)), "sharers": frozenset({(0, 1, 0)})}),
        ("pins_running", {"pins": (Pin(0, 0, 0), Pin(0, 1, 0)), "never_twice_running": True}),
        ("pins_visits", {"pins": (Pin(0, 0, 0), Pin(0, 2, 0)), "visits_at_most": 1, "rests_allowed": (4, 4, 4, 4)}),
        (
            "pins_open_at_once",
            {
                "pins": (Pin(0, 0, 0), Pin(1, 0, 1), Pin(2, 0, 2)),
                "open_hides_at_once": 2,
            },
        ),
        ("seats_open_at_once", {"open_hides_at_once": 1}),
        ("pair_fits_nowhere", {"together": ((0, 1),), "cannot": frozenset({(0, 0), (0, 1)})}),
    ],
)
def test_counting_finds_contradictions_without_a_search(rule: str, changes: dict[str, object]) -> None:
    assert rule in {reason.rule for reason in count_conflicts(camp(**changes))}


def test_pins_to_seats_that_clash_are_told_with_the_pins_to_take_off() -> None:
    for problem, offers in (
        (camp(pins=(Pin(0, 1, 0, 1),), hides=A_SEAT_OUT), 1),
        (camp(pins=(Pin(0, 0, 0, 1), Pin(1, 0, 0, 1))), 2),
    ):
        conflict = only_conflict(problem)
        assert [offer.change for offer in conflict.helps] == ["unpin"] * offers
    assert not count_conflicts(camp(pins=(Pin(0, 0, 0, 1),), hides=A_SEAT_OUT))
    assert not count_conflicts(camp(pins=(Pin(0, 0, 0, 1), Pin(1, 0, 0, 1)), shared=frozenset({(0, 0)})))


def test_guests_do_without_a_turn_and_make_no_pair_impossible() -> None:
    single = tuple(hide(name, 1) for name in "ABCD")
    assert explain(camp(hides=single, together=((0, 1),), guests=frozenset({0, 1}))).verdict == "possible"
    met = camp(together=((0, 1),), apart=((0, 1),), guests=frozenset({0}), rests_allowed=(1, 1, 1, 1))
    assert explain(met).verdict == "possible"
    assert explain(replace(met, rests_allowed=(1, 1, 1, 0))).conflicts[0].reasons[0].sessions == (3,)


def test_every_offer_resolves_the_conflict_by_itself() -> None:
    problem = camp(hides=(hide("A", 3, 3), hide("B", 3, 3)))
    conflict = only_conflict(problem)
    assert conflict.is_minimal
    assert helps(conflict)["lower_minimum"].hides == (0, 1)
    for where in (0, 1):
        lowered = replace(
            problem.hides[where], minimum_people=int(dict(helps(conflict)["lower_minimum"].figures)["minimum"])
        )
        hides = tuple(lowered if index == where else problem.hides[index] for index in range(2))
        assert explain(replace(problem, hides=hides)).verdict == "possible"


def test_unmatched_people_are_those_who_share_too_few_places() -> None:
    assert unmatched_group({0: [0], 1: [0], 2: [0, 1]}, {0: 1, 1: 1}) == (0, 1)
    assert unmatched_group({0: [0], 1: [0], 2: [0, 1]}, {0: 2, 1: 1}) == ()
    assert unmatched_group({0: [0], 1: [0]}, {0: 1}, spare=1) == ()


def test_a_mutual_group_is_found_or_refused() -> None:
    ring = {0: {1, 4}, 1: {0, 2}, 2: {1, 3}, 3: {2, 4}, 4: {3, 0}}
    assert mutual_group(ring, 3) == ()
    assert mutual_group({**ring, 0: {1, 2, 4}, 2: {0, 1, 3}}, 3) == (0, 1, 2)
    assert mutual_group(ring, 2, most_steps=0) == ()


def test_reasons_of_one_rule_are_told_together() -> None:
    conflict = only_conflict(camp(people=people(2), hides=(hide("A", 2),), apart=((0, 1),)))
    assert Reason("turn", (0, 1), (0, 1, 2, 3)) in conflict.reasons
