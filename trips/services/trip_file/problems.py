"""What is wrong with a trip file: where, which value, and why, each as one sentence."""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, models

from participants.core.errors import CoreError

SHOWN_AT_MOST = 20  # more of a kind say nothing new
VALUE_LENGTH = 60  # a line on the screen keeps its sentence
NO_VALUE = object()


@dataclass(frozen=True)
class FileFault:
    """One thing that is wrong: `path` as in "sessions[3].ends_at" (empty: the file); `reason` ends its sentence."""

    path: str
    reason: str
    value: Any = NO_VALUE

    def __str__(self) -> str:
        shown = "" if self.value is NO_VALUE else f"{value_words(self.value)} "
        where = f"{self.path}: " if self.path else ""
        return f"{where}{shown}{self.reason}."


class TripFileRefused(CoreError):
    """A trip file that cannot be taken: `problems`, a tuple of FileFault, never empty."""

    def __init__(self, problems: Iterable[FileFault]) -> None:
        super().__init__(problems=tuple(problems))

    def sentences(self) -> list[str]:
        """One sentence for each problem, the first ones only if there are very many."""
        problems = self.problems
        lines = [str(problem) for problem in problems[:SHOWN_AT_MOST]]
        more = len(problems) - len(lines)
        return [*lines, f"And {more} more of the kind."] if more else lines


def value_words(value: Any) -> str:
    """A value as the file shows it, cut where it is long."""
    if isinstance(value, dict | list) and len(value) > 8:
        return "a long list" if isinstance(value, list) else "an object"
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except (ValueError, RecursionError):
        text = "this value"
    # Half a surrogate pair, or a control character, must not reach the screen.
    text = "".join(letter if letter.isprintable() else "�" for letter in text)
    return text if len(text) <= VALUE_LENGTH else text[: VALUE_LENGTH - 1] + "…"


def path_words(path: Iterable[Any]) -> str:
    """A path into the file as people read it: "sessions[3].ends_at"."""
    words = ""
    for part in path:
        words += f"[{part}]" if isinstance(part, int) else f".{part}" if words else str(part)
    return words


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
