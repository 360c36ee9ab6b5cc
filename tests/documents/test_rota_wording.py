"""Sentences about rotas name people, hides, sessions and rules, and nobody who does not matter."""

import re
from dataclasses import replace
from inspect import getsource

import pytest

from tests.core.rota.check.test_checker import PLANTED, SOUND
from tests.core.rota.rota_cases import camp, hide, plan_of
from trips.core.rota.check import hides as checks_hides
from trips.core.rota.check import people as checks_people
from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault
from trips.core.rota.edit.repair_moves import Move, moves
from trips.core.rota.explain import counting as reasons_counting
from trips.core.rota.explain import helps as reasons_help
from trips.core.rota.explain import pins as reasons_pins
from trips.core.rota.explain import rule_model as reasons_model
from trips.core.rota.explain import trip_rules as reasons_trip
from trips.core.rota.explain.conflicts import Conflict, Explanation, Help, Reason
from trips.core.rota.explain.explain import explain
from trips.core.rota.explain.promises import promises
from trips.core.rota.problem.values import Pin, Problem
from trips.documents.wording import rota_faults, rota_reasons
from trips.documents.wording.rota import counts_sentence, guarantee_sentences, move_reason, points_sentence
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import listed, names_of, times
from trips.documents.wording.rota_reasons import (
    conflict_sentences,
    explanation_sentences,
    help_phrase,
    refusal_sentences,
)

FOUR_HIDES = (hide("A", 2), hide("B", 2), hide("C", 1), hide("D", 2))


def keys_of(module: object, call: str) -> set[str]:
    """The rule keys that a module's code gives to `call`."""
    return set(re.findall(call + r'\(\s*"([a-z_]+)"', getsource(module)))  # type: ignore[arg-type]


def test_every_rule_that_the_checker_can_name_has_a_sentence() -> None:
    keys = keys_of(checks_people, "Fault") | keys_of(checks_hides, "Fault")
    assert keys <= set(rota_faults._SENTENCES)
    assert len(keys) > 25


def test_every_reason_and_every_offer_has_words() -> None:
    keys = set().union(*(keys_of(part, "Reason") for part in (reasons_counting, reasons_pins, reasons_model)))
    keys |= keys_of(reasons_trip, "Reason")
    assert keys <= set(rota_reasons._REASONS)
    assert len(keys) > 25
    assert keys_of(reasons_help, "Help") <= set(rota_reasons._HELPS)


@pytest.mark.parametrize("index", range(len(PLANTED)))
def test_each_planted_fault_is_told_with_the_names_that_matter(index: int) -> None:
    rule, changes, plant = PLANTED[index]
    problem = camp(**changes)
    for fault in check(problem, plant(plan_of(SOUND))).faults:
        sentence = fault_sentence(fault, names_of(problem))
        assert sentence[0].isupper()
        assert sentence.endswith(".")
        for person, name in enumerate(problem.people):
            assert (name in sentence) == (person in fault.people) or fault.rule in ("too_few", "open_at_once"), rule


def test_names_from_right_to_left_draw_no_number_to_their_side() -> None:
    people = ("אבי", "בני", *camp().people[2:])
    fault = Fault("too_many", (0, 1), (1,), (0,), (("people", 3), ("seats", 2)))
    told = fault_sentence(fault, names_of(replace(camp(), people=people)))
    assert told == "Alder has 2 seats in Sat late, but 3 people are there: \u2068אבי\u2069 and \u2068בני\u2069."


def test_a_full_hide_is_told_with_its_numbers() -> None:
    fault = Fault("too_many", (0, 1, 2), (1,), (0,), (("people", 3), ("seats", 2)))
    assert fault_sentence(fault, names_of(camp())) == (
        "Alder has 2 seats in Sat late, but 3 people are there: Ada, Ben and Cleo."
    )


def test_a_false_figure_is_told_with_both_numbers() -> None:
    fault = Fault("stated_worst_share", figures=(("stated", 0.9), ("counted", 0.8)))
    assert fault_sentence(fault, names_of(camp())) == "The rota states worst share 0.9; counted: 0.8."


def test_seats_against_people_and_three_ways_out() -> None:
    problem = camp(people=tuple(f"P{i}" for i in range(1, 9)), sessions=("Sat early",), hides=FOUR_HIDES)
    assert explanation_sentences(explain(problem), names_of(problem)) == [
        "Sat early: 8 people, 7 seats, 1 short.",
        "What would help: one rests in turn (Sat early), two people share a seat in A, B, C or D (Sat early) or a seat "
        "is added in A, B, C or D.",
    ]


def test_no_hide_fits_lists_hide_by_hide_what_stands_against_it() -> None:
    people = tuple(f"P{i}" for i in range(1, 7))
    problem = camp(people=people, hides=FOUR_HIDES, cannot=frozenset((5, where) for where in range(4)))
    barred = {
        (5, 0): ("5 steps, at most 3",),
        (5, 1): ("6 steps, at most 3",),
        (5, 2): ("a walk of 300 m, at most 100 m",),
        (5, 3): ("8 steps, at most 3",),
    }
    told = explanation_sentences(explain(problem), names_of(problem, barred))
    assert told[0] == (
        "No hide fits P6 (every session): A (5 steps, at most 3), B (6 steps, at most 3), "
        "C (a walk of 300 m, at most 100 m) and D (8 steps, at most 3)."
    )
    assert not any(f"P{i}" in line for i in range(1, 6) for line in told)


def test_a_pair_in_a_single_seat() -> None:
    people = tuple(f"P{i}" for i in range(1, 7))
    problem = camp(people=people, hides=FOUR_HIDES, together=((0, 1),), pins=(Pin(0, 0, 2),))
    told = explanation_sentences(explain(problem), names_of(problem))
    assert told[0] == "These cannot hold together:"
    assert set(told[1:4]) == {
        "C has 1 seat in Sat early.",
        "P1 and P2 sit together always.",
        "P1 is pinned to C in Sat early.",
    }
    assert not any(name in line for line in told for name in ("P3", "P4", "P5", "P6"))


def test_what_rests_on_apart_is_told_to_leaders_only() -> None:
    problem = camp(people=("Ada", "Ben"), hides=(hide("A", 2),), apart=((0, 1),))
    explanation = explain(problem)
    leader = " ".join(explanation_sentences(explanation, names_of(problem)))
    assert "Ada and Ben are kept apart." in leader
    others = " ".join(explanation_sentences(explanation, names_of(problem), for_leader=False))
    assert "apart" not in others
    assert "Ada" not in others
    assert "to fit the whole group" in others


def test_possible_and_unsettled_are_not_told_as_impossible() -> None:
    assert explanation_sentences(Explanation("possible"), names_of(camp())) == ["A rota that keeps all rules exists."]
    assert "impossible" not in explanation_sentences(Explanation("unknown"), names_of(camp()))[0]


def test_a_proof_of_the_planner_is_not_taken_back_where_its_reasons_were_not_found() -> None:
    told = ["Which rules stand against each other was not settled in the time given."]
    assert refusal_sentences(Explanation("unknown"), names_of(camp())) == told
    problem = camp(hides=(hide("A", 3),))
    explanation, names = explain(problem), names_of(problem)
    assert refusal_sentences(explanation, names) == explanation_sentences(explanation, names)


def test_a_conflict_that_may_be_too_large_says_so() -> None:
    conflict = Conflict("trip", (Reason("turn", (0,)), Reason("apart", (0, 1))), is_minimal=False)
    assert any("may not be needed" in line for line in conflict_sentences(conflict, names_of(camp())))


def reason_sentence(reason: Reason) -> str:
    """A conflict of one reason, in words."""
    (sentence,) = conflict_sentences(Conflict("counting", (reason,)), names_of(camp()))
    return sentence


def test_how_often_is_told_in_words_that_fit_the_number() -> None:
    pinned = Reason("pins_visits", (0,), (0, 2), (0,), (("pins", 2.0), ("most", 1.0)))
    assert reason_sentence(pinned) == "Ada is pinned to Alder twice; at most 1 visit is allowed."
    may_sit = [Reason("visits_at_most", (0,), (), (0,), (("most", most),)) for most in (0, 1, 3)]
    assert [reason_sentence(reason) for reason in may_sit] == [
        "Ada may sit in Alder not at all.",
        "Ada may sit in Alder at most once.",
        "Ada may sit in Alder at most three times.",
    ]
    fault = Fault("visits_at_most", (0,), (0, 2), (0,), (("visits", 2), ("most", 1)))
    assert fault_sentence(fault, names_of(camp())) == "Ada visits Alder twice; at most 1 visit is allowed."
    assert help_phrase(Help("more_hides", figures=(("most", 1),)), names_of(camp())) == "1 hide may be open at once"
    assert help_phrase(Help("more_visits", figures=(("most", 1),)), names_of(camp())) == (
        "1 visit to one hide is allowed"
    )


def test_pins_that_clash_with_seats_or_with_a_car_that_has_left_are_told() -> None:
    told = [
        reason_sentence(Reason("pin_seat_out", (0,), (1,), (0,))),
        reason_sentence(Reason("pins_one_seat", (0, 1), (1,), (0,))),
        reason_sentence(Reason("pin_left", (0,), (1,), (2, 0))),
    ]
    assert told == [
        "Ada is pinned to a seat of Alder in Sat late, but that seat is out of use then.",
        "Ada and Ben are pinned to one and the same seat of Alder in Sat late.",
        "Ada is pinned to Cedar in Sat late, but the car to Alder, where Ada sits then, has left.",
    ]


def test_the_people_and_hides_left_are_told_where_a_car_has_left() -> None:
    figures = (("people", 2), ("rests", 0), ("gone", 2), ("seats", 1), ("short", 1))
    assert reason_sentence(Reason("seats", (), (1,), (), figures)) == (
        "Sat late: 2 people besides those whose car has left, 1 seat, 1 short."
    )
    assert reason_sentence(Reason("seats_open_at_once", (), (1,), (), (*figures, ("most", 1)))) == (
        "Sat late: at most 1 hide more may be open, and the largest have 1 seat; "
        "2 people besides those whose car has left, 1 short."
    )


def test_offers_are_parts_of_a_sentence() -> None:
    names = names_of(camp())
    assert help_phrase(Help("rest", (), (0, 1), (), (("people", 2),)), names) == (
        "two rest in turn (Sat early and Sat late)"
    )
    assert help_phrase(Help("unpin", (1,), (0,), (2,)), names) == "the pin of Ben to Cedar (Sat early) is taken off"


KINDS = ("early", "late", "early", "late")
GOOD = frozenset((p, s, 0) for p in range(4) for s in (0, 2))


def test_counts_come_first_then_the_guarantee_then_points() -> None:
    problem = camp(kinds=KINDS, good=GOOD, in_demand=(0,))
    told = promises(problem, plan_of(["AABB", "BBAA", "AABB", "BBAA"]), 0.97)
    names = names_of(problem)
    assert counts_sentence(told.counts[0], names) == "Ada: Alder twice; 2 good mornings, 0 good evenings; no rest."
    assert guarantee_sentences(told, names) == [
        "Everybody sits twice in Alder.",
        f"Everybody gets at least {told.least_share:.2f} of their own best, and no rota with the same counts gives "
        "everybody more than 0.97.",
    ]
    assert points_sentence(told.counts[0], names) == f"Ada: {told.counts[0].share:.2f} of their own best."


def test_equal_good_mornings_and_a_proved_share() -> None:
    problem = camp(kinds=KINDS, good=frozenset((p, 0, h) for p in range(4) for h in range(3)), leader="never")
    plan = plan_of(["AABB", "BBAA", "AABB", "BBAA"])
    best = promises(problem, plan)
    proved = promises(problem, plan, min(count.share for count in best.counts))
    assert guarantee_sentences(proved, names_of(problem)) == [
        "Everybody has one good morning.",
        f"Everybody gets at least {best.least_share:.2f} of their own best, and no rota can give everybody more.",
    ]


def test_a_repair_claims_nothing_about_rotas_with_more_changes() -> None:
    plan = plan_of(["AABB", "BBAA", "AABB", "BBAA"])
    alone = camp(issued=plan, repair="fewest", leader="never")
    told = guarantee_sentences(promises(alone, plan, 0.99), names_of(alone))
    assert "no rota with as few changes gives everybody more than 0.99" in told[-1]
    both = replace(alone, in_demand=(0,))
    told = guarantee_sentences(promises(both, plan, 0.99), names_of(both))
    assert "no rota with as few changes and the same counts gives" in told[-1]


def demand_sentence(problem: Problem, letters: list[str], *, fewest_without: bool = True) -> str:
    told = promises(problem, plan_of(letters), fewest_without=fewest_without)
    return guarantee_sentences(told, names_of(problem))[0]


def test_who_goes_without_is_named_and_told_to_come_first_next_time() -> None:
    problem = camp(in_demand=(2,), leader="never")
    assert demand_sentence(problem, ["CABA", "ABCB", "AABB", "BBAA"]) == (
        "In Cedar there are not enough turns for everybody: Ben and Dov go without this time and come first next time."
    )
    assert demand_sentence(problem, ["CABA", "ACBB", "AABC", "BBAA"]) == (
        "In Cedar there are not enough turns for everybody: Cleo goes without this time and comes first next time."
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"issued": plan_of(["AABB"]), "repair": "fewest"},
        {"issued": plan_of(["AABB"]), "repair": "free"},
        {"rests_allowed": (1, 1, 1, 1)},
        {"leader": "coaching"},
        {"in_demand": (2, 0)},
    ],
)
def test_turns_are_called_short_only_where_no_rota_could_give_more(changes: dict[str, object]) -> None:
    letters = ["CABA", "ACBB", "AABC", "BBAA"]
    plain = "Cleo has no turn in Cedar in this rota and comes first next time."
    wanted = camp(in_demand=(2,), leader="never")
    assert demand_sentence(replace(wanted, **changes), letters) == plain
    assert demand_sentence(wanted, letters, fewest_without=False) == plain
    assert demand_sentence(wanted, ["CABA", "ABBA", "AABC", "BBAA"], fewest_without=False) == (
        "Ben and Cleo have no turn in Cedar in this rota and come first next time."
    )


def test_rests_are_told_as_they_are() -> None:
    problem = camp(rests_allowed=(1, 1, 0, 0))
    plan = plan_of(["-ABB", "B-AA", "CABA", "ABCB"], rests=((0, 0), (1, 1)))
    assert "Some rest, nobody more than once." in guarantee_sentences(promises(problem, plan), names_of(problem))


def test_the_leaders_seats_are_told_with_the_good_ones() -> None:
    problem = camp(kinds=KINDS, good=frozenset({(2, 0, 0)}))
    told = guarantee_sentences(promises(problem, plan_of(["BBCCA"], seats=False)), names_of(problem))
    assert told[-1] == ("The leader sits in 1 session; good seats among them that somebody else could have used: 1.")


def test_a_move_names_the_rule_that_forces_it() -> None:
    issued = plan_of(["AABB", "BBAA", "CABA", "ABCB"])
    problem = camp(issued=issued, closed=frozenset({(2, 2)}))
    (move,) = moves(problem, plan_of(["AABB", "BBAA", "BABA", "ABCB"]))
    assert (move.person, move.session, move.old_hide, move.new_hide) == (0, 2, 2, 1)
    assert move_reason(move, names_of(problem)) == "Cedar is not available then"


def test_a_move_because_of_apart_reads_to_fit_the_whole_group() -> None:
    fault = Fault("apart", (0, 1), (0,), (0,))
    move = Move(1, 0, 0, 1, (fault,))
    names = names_of(camp())
    assert "kept apart" in move_reason(move, names)
    assert move_reason(move, names, for_leader=False) == "to fit the whole group"


def test_a_move_that_nothing_forces_makes_the_rota_fairer() -> None:
    told = move_reason(Move(0, 0, 0, None, ()), names_of(camp()))
    assert told == "nothing forces it, but it makes the rota fairer"


def test_lists_and_numbers_read_well() -> None:
    assert [listed([]), listed(["A"]), listed(["A", "B", "C"], "or")] == ["", "A", "A, B or C"]
    assert [times(0), times(1), times(2), times(3), times(20)] == [
        "not at all",
        "once",
        "twice",
        "three times",
        "20 times",
    ]
