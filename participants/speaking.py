"""Whose language is spoken: pages, mails, papers and calendars each speak that of the person who reads them."""

from typing import Any

from django.conf import settings
from django.utils import translation

from participants.models import LANGUAGES, Participant

ENGLISH = "en"


def language_of(person: Participant) -> str:
    """The language a person reads; English where theirs is none of the house's."""
    return person.language if person.language in dict(LANGUAGES) else ENGLISH


def speaking(language: str) -> Any:
    """Within this context everything is said in that language."""
    is_ours = language in dict(LANGUAGES) and language != ENGLISH
    return translation.override(language if is_ours else settings.LANGUAGE_CODE)
