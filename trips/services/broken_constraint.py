"""Which constraint the database refused a row by, in the words of the row."""

import re
from typing import Any

from django.db import IntegrityError, models

_SQLITE_CHECK = re.compile(r"CHECK constraint failed: (\w+)")
_SQLITE_INDEX = re.compile(r"UNIQUE constraint failed: index '(\w+)'")
_SQLITE_COLUMNS = re.compile(r"UNIQUE constraint failed: (.+)")


def constraint_sentence(error: IntegrityError, model: type[models.Model]) -> str:
    """The readable message of the constraint of `model` that was broken, or a general one."""
    constraint = _constraint(error, model)
    if constraint is not None:
        return str(constraint.get_violation_error_message())
    if "uuid" in str(error):
        return "Another row already has this uuid."
    return "This does not fit what is stored already."


def _constraint(error: IntegrityError, model: type[models.Model]) -> Any:
    by_name = {constraint.name: constraint for constraint in model._meta.constraints}
    name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None)
    text = str(error)
    for pattern in (_SQLITE_CHECK, _SQLITE_INDEX):
        if name is None and (match := pattern.search(text)):
            name = match.group(1)
    if name is not None:
        return by_name.get(name)
    match = _SQLITE_COLUMNS.search(text)
    columns = {part.split(".")[-1].strip() for part in match.group(1).split(",")} if match else set()
    column_of = {field.name: field.column for field in model._meta.concrete_fields}
    for constraint in model._meta.constraints:
        fields = getattr(constraint, "fields", ())
        if fields and {column_of[field] for field in fields} == columns:
            return constraint
    return None
