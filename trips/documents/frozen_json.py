"""Frozen values of papers as plain JSON and back, so that an issue can keep exactly what people were told."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import cache
from types import NoneType, UnionType
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from participants.core.errors import BadShape

Value = TypeVar("Value")


def as_json(value: Any) -> Any:
    """Plain JSON of frozen dataclasses, tuples, moments, days, texts, numbers and None."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: as_json(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [as_json(one) for one in value]
    if isinstance(value, datetime | date):
        return value.isoformat()
    if value is None or isinstance(value, str | int | float | bool):
        return value
    raise BadShape(path=type(value).__name__, value=repr(value), reason="not_storable")


def from_json(kind: type[Value], stored: Any) -> Value:
    """The value of that kind that `as_json` made. Fields that came later keep their defaults.

    A field's metadata may say under which name it was kept `before`.
    """
    return _restored(kind, stored, kind.__name__)


def _restored(kind: Any, stored: Any, path: str) -> Any:
    if get_origin(kind) is UnionType or NoneType in get_args(kind):
        choices = [choice for choice in get_args(kind) if choice is not NoneType]
        return None if stored is None else _restored(choices[0], stored, path)
    if get_origin(kind) is tuple:
        if not isinstance(stored, list):
            raise BadShape(path=path, value=repr(stored), reason="not_a_list")
        parts = get_args(kind)
        kinds = [parts[0]] * len(stored) if parts[-1] is Ellipsis else list(parts)
        return tuple(
            _restored(one, item, f"{path}[{index}]")
            for index, (one, item) in enumerate(zip(kinds, stored, strict=True))
        )
    if is_dataclass(kind):
        return _restored_dataclass(kind, stored, path)
    if kind in (datetime, date):
        return kind.fromisoformat(stored)
    if not isinstance(stored, kind if kind is not float else (int, float)):
        raise BadShape(path=path, value=repr(stored), reason=f"not_{kind.__name__}")
    return stored


def _restored_dataclass(kind: Any, stored: Any, path: str) -> Any:
    if not isinstance(stored, dict):
        raise BadShape(path=path, value=repr(stored), reason="not_an_object")
    hints = _hints_of(kind)
    kept_as = {one.name: one.name if one.name in stored else one.metadata.get("before") for one in fields(kind)}
    known = {name: key for name, key in kept_as.items() if key in stored}
    return kind(**{name: _restored(hints[name], stored[key], f"{path}.{key}") for name, key in known.items()})


@cache  # an issue holds thousands of values of some thirty kinds, and the hints are strings that are read each time
def _hints_of(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def rows_of_lines(view: dict[str, Any], session: Mapping[str, Any]) -> None:
    """Issues once kept settings at start, middle and end in each line; the same by clock time."""
    lines = {kind: view.get(kind) or {} for kind in ("still", "moving")}
    if "rows" in view or "start" not in lines["still"]:
        return
    starts_at, ends_at = (datetime.fromisoformat(session[name]) for name in ("starts_at", "ends_at"))
    moments = {"start": starts_at, "middle": starts_at + (ends_at - starts_at) / 2, "end": ends_at}
    view["rows"] = [
        {"at": at.isoformat(), "light": ""}
        | {kind: None if line[name].get("too_low") else line[name] for kind, line in lines.items()}
        for name, at in moments.items()
    ]
