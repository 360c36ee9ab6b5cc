"""What would change if a trip's rules or scoring went back to their defaults."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trips.models import TripRules


@dataclass(frozen=True)
class DefaultChange:
    """One rule that is not at its default: what it is called, what it says now and what it would say."""

    label: str
    now: str
    default: str


def default_changes(rules: TripRules, labels: Mapping[str, str]) -> list[DefaultChange]:
    """The fields of `labels` (field: what it is called) that are not at their defaults, in that order."""
    fresh = TripRules()
    return [
        DefaultChange(label, _words(rules, name), _words(fresh, name))
        for name, label in labels.items()
        if getattr(rules, name) != getattr(fresh, name)
    ]


def _words(rules: TripRules, name: str) -> str:
    if name == "leader_policy":
        return str(rules.get_leader_policy_display())
    value = getattr(rules, name)
    if name == "height_scoring":
        return ", ".join(f"{factor:g} at {height_deg:g}°" for height_deg, factor in value)
    if name == "shutter_s" and 0 < value < 0.5:
        return f"1/{1 / value:g}"
    return _plain(value)


def _plain(value: Any) -> str:
    if value is None:
        return "no limit"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "; ".join(f"{key.replace('_', ' ')} {_plain(one)}" for key, one in value.items())
    if isinstance(value, list):
        return ", ".join(_plain(one) for one in value)
    return f"{value:g}"
