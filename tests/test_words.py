"""One word per idea: what people read keeps to the glossary, and to no word that another one took the place of."""

import re

import pytest

from tests.retired_words import RETIRED, python_texts, retired_in, template_texts, texts_read
from trips.documents.wording.glossary import WORDS

TEXTS = list(texts_read())
GLOSSARY = "trips/documents/wording/glossary.py"


def test_no_retired_word_is_read_by_a_person():
    found = {(where, word) for where, text in TEXTS for word in retired_in(where, text)}
    assert not found, f"write the word that stands for the idea now: {RETIRED}"


@pytest.mark.parametrize("word", WORDS.values(), ids=lambda word: word.key)
def test_a_word_of_the_glossary_is_on_pages_or_papers(word):
    said = re.compile(rf"\b{re.escape(word.word)}s?\b", re.IGNORECASE)
    assert any(said.search(text) for where, text in TEXTS if where != GLOSSARY and not where.startswith("docs/"))


def test_the_glossary_explains_no_word_twice():
    names = [word.word.casefold() for word in WORDS.values()]
    assert len(names) == len(set(names))


def test_texts_are_found_where_people_read_them():
    page = '<a title="Your kit">{# kit #}{% include "x" with title="A kit" %}<i class="kit">one</i> kit</a>{{ kit }}'
    assert [word for text in template_texts(page) for word in retired_in("", text)] == ["kit", "kit", "kit"]
    module = '"""A kit."""\nKEY = "kit"\nLABEL = "Kit"\nTOLD = f"{KEY}: your kit"\n# a kit\n'
    assert [word for text in python_texts(module) for word in retired_in("", text)] == ["Kit", "kit"]
    assert retired_in("docs/rota.md", "An upper bound of the kit") == ["kit"]
