"""What the checker found is told with the people, hide, session and rule, and nobody who does not matter."""

import re
from dataclasses import replace
from inspect import getsource

import pytest

from tests.core.rota.check.test_checker import PLANTED, SOUND
from tests.core.rota.rota_cases import camp, plan_of
from trips.core.rota.check import hides as checks_hides
from trips.core.rota.check import people as checks_people
from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault
from trips.documents.wording import rota_faults
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import names_of


def keys_of(module: object, call: str) -> set[str]:
    """The rule keys that a module's code gives to `call`."""
    return set(re.findall(call + r'\(\s*"([a-z_]+)"', getsource(module)))  # type: ignore[arg-type]


def test_every_rule_that_the_checker_can_name_has_a_sentence() -> None:
    keys = keys_of(checks_people, "Fault") | keys_of(checks_hides, "Fault")
    assert keys <= set(rota_faults._SENTENCES)
    assert len(keys) > 25


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
