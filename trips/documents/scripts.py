"""Which font prints which script, and what no font here can print.

Papers name their fonts one by one; nothing is left to a silent substitute, so a name either prints or is refused
before the paper is made. The house font comes from a package of the project; the others are Debian's Noto fonts.
"""

import unicodedata
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass

from fontTools.unicodedata import script as script_of_character
from fontTools.unicodedata import script_name

from participants.core.errors import CoreError
from participants.core.isolation import without_turns

HOUSE_FONT = "Source Sans Pro"
CORE_PACKAGE = "fonts-noto-core"
CJK_PACKAGE = "fonts-noto-cjk"
EMOJI_PACKAGE = "fonts-noto-color-emoji"
# Scripts whose Noto family is not simply "Noto Sans" and the script's name.
_FAMILIES = {
    "Latn": "Noto Sans",
    "Grek": "Noto Sans",
    "Cyrl": "Noto Sans",
    "Hani": "Noto Sans CJK SC",
    "Hira": "Noto Sans CJK JP",
    "Kana": "Noto Sans CJK JP",
    "Bopo": "Noto Sans CJK TC",
    "Hang": "Noto Sans CJK KR",
    "Tibt": "Noto Serif Tibetan",
    "Beng": "Noto Sans Bengali",
    "Mlym": "Noto Sans Malayalam",
    "Laoo": "Noto Sans Lao",
}
_SHARED_FAMILIES = ("Noto Sans", "Noto Sans Symbols", "Noto Sans Symbols2", "Noto Sans Math", "Noto Color Emoji")
_SHARED_SCRIPTS = {"Zyyy", "Zinh", "Zzzz"}


class NoFont(CoreError):
    """Text that no installed font can print: `scripts` (of Unprintable), `where` (the words that hold it)."""


class PaperFailed(CoreError):
    """A paper that could not be made whole: `reason` (a short key), `detail`."""


@dataclass(frozen=True, slots=True)
class Unprintable:
    """Characters of one script that no installed font holds, and the package that would bring them."""

    script: str
    characters: str
    package: str


def families_of(script: str) -> tuple[str, ...]:
    """The font families for a script (four letters, ISO 15924), the best first, without the house font."""
    if script in _SHARED_SCRIPTS:
        return (*_SHARED_FAMILIES, _FAMILIES["Hani"])
    return (_FAMILIES.get(script, f"Noto Sans {script_name(script)}"), *_SHARED_FAMILIES)


def package_of(script: str, character: str) -> str:
    """The Debian package with the script's font."""
    if script in ("Hani", "Hira", "Kana", "Bopo", "Hang"):
        return CJK_PACKAGE
    if script in _SHARED_SCRIPTS and unicodedata.category(character) == "So" and ord(character) > 0xFFFF:
        return EMOJI_PACKAGE
    return CORE_PACKAGE


def printing_families(characters: Iterable[str], coverage: Mapping[str, Set[int]]) -> tuple[str, ...]:
    """The families that these characters need, in order: the house font, then by script, then symbols.

    `coverage`: code points by family, of the families that are installed.
    """
    scripts = {script_of_character(character) for character in _left_over(characters, coverage)}
    wanted = [family for script in sorted(scripts) for family in families_of(script)]
    own = [family for family in wanted if family not in _SHARED_FAMILIES]
    shared = [family for family in _SHARED_FAMILIES if family in wanted]
    return (HOUSE_FONT, *(family for family in dict.fromkeys(own + shared) if family in coverage))


def unprintable(characters: Iterable[str], coverage: Mapping[str, Set[int]]) -> tuple[Unprintable, ...]:
    """What none of the families for its script can print, by script; empty when all is well."""
    missing: dict[str, set[str]] = {}
    for character in _left_over(characters, coverage):
        script = script_of_character(character)
        if not any(ord(character) in coverage.get(family, ()) for family in families_of(script)):
            missing.setdefault(script, set()).add(character)
    return tuple(
        Unprintable(_readable(script, min(found)), "".join(sorted(found)), package_of(script, min(found)))
        for script, found in sorted(missing.items())
    )


def printable_text(text: str) -> str:
    """The text without what has no shape: control characters (line ends and tabs stay), half surrogate pairs, and
    the code points that Unicode keeps free of characters (section 23.7); nor what would turn a line round."""
    kept = without_turns(text).replace("\r\n", "\n").replace("\r", "\n")
    return "".join(one for one in kept if one in "\n\t" or not _no_character(one))


def _no_character(character: str) -> bool:
    number = ord(character)
    return unicodedata.category(character) in ("Cc", "Cs") or number & 0xFFFE == 0xFFFE or 0xFDD0 <= number <= 0xFDEF


def _left_over(characters: Iterable[str], coverage: Mapping[str, Set[int]]) -> list[str]:
    house = coverage.get(HOUSE_FONT, frozenset())
    return sorted(one for one in set(characters) if ord(one) not in house and not _shapeless(one))


def _shapeless(character: str) -> bool:
    """Spaces, line ends, joiners and marks of direction: nothing to draw (variation selectors: part of another)."""
    if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Zs", "Zl", "Zp"):
        return True
    return 0xFE00 <= ord(character) <= 0xFE0F


def _readable(script: str, character: str) -> str:
    if script in _SHARED_SCRIPTS:
        return "symbols" if unicodedata.name(character, "") else "unknown characters"
    return str(script_name(script)).replace("_", " ")
