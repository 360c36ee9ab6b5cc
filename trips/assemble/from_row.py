"""A row into a value whose fields have the row's own names: written once for all of them."""

from dataclasses import fields
from typing import Any, TypeVar

Value = TypeVar("Value")


def from_row(kind: type[Value], row: Any, **own: Any) -> Value:
    """The dataclass `kind` with the fields in `own` as given and every other one as `row` has it; `key`: its uuid.

    A field that the row does not have keeps its default; TypeError where it has none.
    """
    names = {field.name for field in fields(kind)} - own.keys()  # type: ignore[arg-type]
    found = {name: getattr(row, name) for name in names if hasattr(row, name)}
    return kind(**({"key": str(row.uuid)} if "key" in names else {}), **found, **own)
