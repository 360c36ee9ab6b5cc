"""Names written from right to left inside text written from left to right, and marks that would turn a whole line.

A name in Hebrew or Arabic draws the figures beside it into its own direction, and 10:30–10:45 reads 10:45–10:30.
Between U+2068 and U+2069 its direction ends where the name ends (Unicode Standard Annex 9, directional isolates).
"""

from dataclasses import fields, is_dataclass, replace
from typing import Any
from unicodedata import bidirectional

_OPENS, _CLOSES = "\u2068", "\u2069"
_TURNS = dict.fromkeys(range(0x202A, 0x202F))  # embeddings and overrides, and their end
_ISOLATES = dict.fromkeys(range(0x2066, 0x206A))
_FROM_THE_RIGHT = ("R", "AL", "AN")


def without_turns(text: str) -> str:
    """The text without U+202A to U+202E; marks of direction, joiners and isolates stay."""
    return text.translate(_TURNS)


def typed_text(text: str) -> str:
    """The text without any mark that reaches beyond it: U+202A to U+202E, and isolates that do not end inside it."""
    if text.isascii():
        return text
    bare = without_turns(text)
    return bare if _ends_what_it_begins(bare) else bare.translate(_ISOLATES)


def isolated(text: str) -> str:
    """The text as it can stand among others; what has nothing from right to left in it stays letter for letter."""
    bare = typed_text(text)
    return f"{_OPENS}{bare}{_CLOSES}" if any(bidirectional(one) in _FROM_THE_RIGHT for one in bare) else bare


def all_isolated(value: Any) -> Any:
    """The value with every text in it isolated: in frozen dataclasses, tuples, lists and the values of mappings."""
    if isinstance(value, str):
        return isolated(value)
    if isinstance(value, tuple | list):
        return type(value)(map(all_isolated, value))
    if isinstance(value, dict):
        return {key: all_isolated(one) for key, one in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{field.name: all_isolated(getattr(value, field.name)) for field in fields(value)})
    return value


def _ends_what_it_begins(text: str) -> bool:
    depth = 0
    for one in text:
        depth += ("\u2066" <= one <= _OPENS) - (one == _CLOSES)
        if depth < 0:
            return False
    return depth == 0
