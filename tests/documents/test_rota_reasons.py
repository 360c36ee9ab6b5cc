"""Conflicts and remedies are told with the people, hides, sessions and rules, and nobody who does not matter."""

from tests.core.rota.rota_cases import camp, hide
from tests.documents.test_rota_faults import keys_of
from trips.core.rota.check.seating import Fault
from trips.core.rota.explain import counting as reasons_counting
from trips.core.rota.explain import helps as reasons_help
from trips.core.rota.explain import pins as reasons_pins
from trips.core.rota.explain.conflicts import Conflict, Explanation, Help, Reason
from trips.core.rota.explain.explain import explain
from trips.core.rota.explain.helps import FIRST_OUT
from trips.core.rota.model import folded_rules, rules
from trips.core.rota.problem.values import Pin
from trips.documents.wording import rota_reasons
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import names_of
from trips.documents.wording.rota_reasons import (
    conflict_sentences,
    explanation_sentences,
    help_phrase,
    refusal_sentences,
)

FOUR_HIDES = (hide("A", 2), hide("B", 2), hide("C", 1), hide("D", 2))


def test_every_reason_and_every_offer_has_words() -> None:
    modelled = keys_of(rules, "Rule") | keys_of(folded_rules, "Rule") | {"together", "helper"}  # named by a variable
    assert modelled == set(FIRST_OUT)
    keys = keys_of(reasons_counting, "Reason") | keys_of(reasons_pins, "Reason") | modelled
    assert keys <= set(rota_reasons._REASONS)
    assert len(keys) > 25
    assert keys_of(reasons_help, "Help") <= set(rota_reasons._HELPS)


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
    told = ["There was not enough time to find out which rules conflict."]
    assert refusal_sentences(Explanation("unknown"), names_of(camp())) == told
    problem = camp(hides=(hide("A", 3),))
    explanation, names = explain(problem), names_of(problem)
    assert refusal_sentences(explanation, names) == explanation_sentences(explanation, names)


def test_a_conflict_that_may_be_too_large_says_so() -> None:
    conflict = Conflict("trip", (Reason("turn", (0,)), Reason("apart", (0, 1))), is_minimal=False)
    assert any("may not be part of" in line for line in conflict_sentences(conflict, names_of(camp())))


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
    row = Fault("consecutive_turns", (0,), (0, 1), (), (("sessions", 2), ("most", 1)))
    assert fault_sentence(row, names_of(camp())) == (
        "Ada has a turn in 2 sessions in a row (Sat early and Sat late); at most 1 is allowed."
    )
    short = Reason("rests_in_a_row", (), (0, 1), (), (("people", 4), ("row", 2), ("rests", 1), ("short", 3)))
    assert reason_sentence(short) == (
        "Sat early and Sat late: each of 4 people needs a rest in any 2 sessions in a row, but 1 rest is allowed in "
        "them."
    )
    assert help_phrase(Help("more_in_a_row", figures=(("most", 1),)), names_of(camp())) == (
        "1 session in a row is allowed for a person"
    )
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
