"""Digests change with everything a plan depends on, and with nothing else."""

from dataclasses import fields, replace

import pytest

from tests.core.rota.rota_cases import camp, plan_of
from trips.core.rota.files.digests import LATER_RULES, LEFT_OUT, RULES, inputs_digest, rules_digest
from trips.core.rota.problem.values import Pin, Problem

CHANGED = {
    "open_hides_at_once": 2,
    "visits_at_most": 2,
    "consecutive_turns_at_most": 2,
    "never_twice_running": True,
    "leader": "never",
    "tolerance": 0.02,
    "want_mixing": True,
    "visit_loss": (0.0,),
    "name": "other",
    "people": ("Ada", "Ben", "Cleo", "Eve"),
    "sessions": ("A", "B", "C", "D"),
    "hides": camp().hides[:2] + camp().hides[:1],
    "points": camp().points[::-1],
    "together": ((0, 1),),
    "half_together": ((0, 1),),
    "apart": ((0, 1),),
    "helpers": ((0, 1),),
    "pins": (Pin(0, 0, 0),),
    "joined": ((0, (0, 1)),),
    "in_demand": (0,),
    "rests_allowed": (1,),
    "guests": frozenset({1}),
    "past": 1,
    "issued": plan_of(["AABB"]),
    "best_alone": (1.0, 1.0, 1.0, 1.0),
    "repair": "fewest",
    "kinds": ("early",) * 4,
}
PAIRS = ("closed", "absent", "cannot", "no_loss", "owed", "shared", "burdens", "frozen")
TRIPLES = ("sharers", "cannot_then", "stays", "good")


@pytest.mark.parametrize("name", [field.name for field in fields(Problem) if field.name not in LEFT_OUT])
def test_every_field_changes_one_of_the_digests(name: str) -> None:
    value = CHANGED.get(name)
    if name in PAIRS:
        value = frozenset({(0, 1)})
    if name in TRIPLES:
        value = frozenset({(0, 1, 2)})
    changed = replace(camp(), **{name: value})
    assert getattr(changed, name) != getattr(camp(), name)
    of_rules = name in (*RULES, *LATER_RULES)
    assert (rules_digest(changed) != rules_digest(camp())) == of_rules
    assert (inputs_digest(changed) != inputs_digest(camp())) != of_rules


def test_notes_and_the_order_of_sets_change_nothing() -> None:
    one = camp(closed=frozenset({(0, 1), (1, 2), (3, 0)}), notes={"a": "b"})
    other = camp(closed=frozenset({(3, 0), (1, 2), (0, 1)}), possible=frozenset({(0, 0)}))
    assert inputs_digest(one) == inputs_digest(other)


def test_a_limit_that_came_later_leaves_the_digests_of_rotas_made_before_it() -> None:
    """Digests of the camp as they were before there was a limit of sessions in a row."""
    assert rules_digest(camp()) == "3320ebc51436031ca9f96c39d944a29cef00b5ad4c9714d14a3d2918d729bf74"
    assert inputs_digest(camp()) == "70ddccb6a9a597f386ebc000312be2480adada6d4c2535220ccc3da0eada5c1f"
