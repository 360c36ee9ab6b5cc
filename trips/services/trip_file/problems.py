"""What is wrong with a trip file: where, which value, and why, each as one sentence."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from participants.core.errors import CoreError

SHOWN_AT_MOST = 20
VALUE_LENGTH = 60
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
    """A trip file that cannot be taken: `problems`, a tuple of Problem, never empty."""

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
