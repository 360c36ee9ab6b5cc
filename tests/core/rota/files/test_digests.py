"""Digests change with everything a plan depends on, and with nothing else."""

from dataclasses import fields, replace

import pytest

from tests.core.rota.rota_cases import camp, plan_of
from trips.core.rota.files.digests import LEFT_OUT, RULES, inputs_digest, rules_digest
from trips.core.rota.problem.values import Pin, Problem

CHANGED = {
    "open_hides_at_once": 2,
    "visits_at_most": 2,
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
TRIPLES = ("cannot_then", "stays", "good")


@pytest.mark.parametrize("name", [field.name for field in fields(Problem) if field.name not in LEFT_OUT])
def test_every_field_changes_one_of_the_digests(name: str) -> None:
    value = CHANGED.get(name)
    if name in PAIRS:
        value = frozenset({(0, 1)})
    if name in TRIPLES:
        value = frozenset({(0, 1, 2)})
    changed = replace(camp(), **{name: value})
    assert getattr(changed, name) != getattr(camp(), name)
    assert (rules_digest(changed) != rules_digest(camp())) == (name in RULES)
    assert (inputs_digest(changed) != inputs_digest(camp())) == (name not in RULES)


def test_notes_and_the_order_of_sets_change_nothing() -> None:
    one = camp(closed=frozenset({(0, 1), (1, 2), (3, 0)}), notes={"a": "b"})
    other = camp(closed=frozenset({(3, 0), (1, 2), (0, 1)}), possible=frozenset({(0, 0)}))
    assert inputs_digest(one) == inputs_digest(other)
