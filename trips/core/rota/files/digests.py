"""Fingerprints of a problem: the same digest, seed and effort give the same rota."""

import hashlib
import json
from dataclasses import fields, is_dataclass
from typing import Any

from trips.core.rota.problem.values import LIMITS, Problem

RULES = (
    "open_hides_at_once",
    "visits_at_most",
    "never_twice_running",
    "leader",
    "tolerance",
    "want_mixing",
    "visit_loss",
)
LATER_RULES = tuple(name for name in LIMITS if name not in RULES)  # left out while off, so that older digests compare
LATER_INPUTS = ("sharers",)  # left out while empty, for the same reason
LEFT_OUT = ("notes", "possible")  # what a plan does not depend on


def rules_digest(problem: Problem) -> str:
    """SHA-256 of the rules, in hexadecimal."""
    later = {name: getattr(problem, name) for name in LATER_RULES if getattr(problem, name) is not None}
    return _digest({name: getattr(problem, name) for name in RULES} | later)


def inputs_digest(problem: Problem) -> str:
    """SHA-256 of everything else that a plan depends on, in hexadecimal."""
    others = {*RULES, *LATER_RULES, *LEFT_OUT}
    names = [field.name for field in fields(problem) if field.name not in others]
    names = [name for name in names if name not in LATER_INPUTS or getattr(problem, name)]
    return _digest({name: getattr(problem, name) for name in names})


def _digest(value: Any) -> str:
    text = json.dumps(_plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, frozenset | set):
        return sorted(_plain(item) for item in value)
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return value
