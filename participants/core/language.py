"""Sentences, numbers, days and lists in the language in use.

The core marks its sentences; the house hands in who translates them and which language is in use (`speak_through`).
Until then everything is English. Values stand in a sentence by name, so that a translation may order them anew:
`_("The walk is {walk}.", walk=...)`. Numbers given with a format get the decimal sign of the language.
"""

from collections.abc import Iterable
from datetime import date
from string import Formatter
from typing import Any, Literal, Protocol

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import get_decimal_symbol


class Translator(Protocol):
    """What translates: the functions of GNU gettext, and which language is in use (a BCP 47 tag)."""

    def gettext(self, message: str) -> str: ...

    def ngettext(self, singular: str, plural: str, number: int) -> str: ...

    def pgettext(self, context: str, message: str) -> str: ...

    def get_language(self) -> str | None: ...


class _English:
    """Says everything as it was written."""

    def gettext(self, message: str) -> str:
        return message

    def ngettext(self, singular: str, plural: str, number: int) -> str:
        return singular if number == 1 else plural

    def pgettext(self, context: str, message: str) -> str:
        return message

    def get_language(self) -> str | None:
        return "en"


class _InLanguage(Formatter):
    """Fills in values; a number's point becomes the decimal sign of the language."""

    def format_field(self, value: Any, format_spec: str) -> str:
        text = str(super().format_field(value, format_spec))
        return decimal_text(text) if isinstance(value, int | float) else text


_house: list[Translator] = [_English()]
_filler = _InLanguage()


def speak_through(translator: Translator) -> None:
    """Have `translator` translate from now on."""
    _house[0] = translator


def language() -> str:
    """The language in use, two letters: en, de, es."""
    return (_house[0].get_language() or "en")[:2]


def gettext(message: str, /, **values: Any) -> str:
    """The sentence in the language in use, with its values filled in."""
    return _filled(_house[0].gettext(message) if message else "", values)


def ngettext(singular: str, plural: str, number: float, /, **values: Any) -> str:
    """The sentence in the form that the number asks for; the number itself is its value `number`."""
    form = int(number) if number == int(number) else 2  # a broken number is several
    return _filled(_house[0].ngettext(singular, plural, form), {"number": number, **values})


def pgettext(context: str, message: str, /, **values: Any) -> str:
    """The sentence, told apart by its context from others that are alike in English."""
    return _filled(_house[0].pgettext(context, message), values)


def gettext_noop(message: str) -> str:
    """Mark a sentence that is translated where it is said."""
    return message


def _filled(sentence: str, values: dict[str, Any]) -> str:
    return _filler.vformat(sentence, (), values) if values else sentence


def named(name: str, names: Iterable[tuple[str, str]]) -> str:
    """What something is called in the language in use: of (language, name) pairs, or `name` where none fits."""
    return dict(names).get(language()) or name


def decimal_text(text: str) -> str:
    """A number written with a point, with the decimal sign of the language in use."""
    return text if language() == "en" else text.replace(".", get_decimal_symbol(Locale(language())))


def day_by_pattern(day: date, pattern: str) -> str:
    """A day by a pattern of Unicode Technical Standard 35, with the names of the language in use."""
    return format_date(day, pattern, locale=Locale(language()))


def list_text(words: Iterable[str], style: Literal["standard", "or"] = "standard") -> str:
    """ "Ada", "Ada and Ben", "Ada, Ben and Cleo"; `style` "or": "Ada, Ben or Cleo" (Unicode CLDR)."""
    return format_list(list(words), style, locale=Locale("en", "GB") if language() == "en" else Locale(language()))
