"""Names from right to left among words and figures from left to right."""

from dataclasses import dataclass
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from participants.core.isolation import all_isolated, isolated, typed_text, without_turns

HEBREW, ARABIC = "בית הציפורים", "مخبأ ٣"
MARKED = st.text(st.sampled_from("ab 1אب\u2066\u2067\u2068\u2069\u202a\u202c\u202e"), max_size=20)


@pytest.mark.parametrize("name", ["Alder", "Zoë Đặng", "Щёголев", "李明", "Alder \u200d\u200e 3", ""])
def test_a_name_from_left_to_right_stays_letter_for_letter(name):
    assert isolated(name) == name


@pytest.mark.parametrize("name", [HEBREW, ARABIC, "Alder אלון", "٣"])
def test_a_name_with_anything_from_right_to_left_is_enclosed(name):
    assert isolated(name) == f"\u2068{name}\u2069"


def test_embeddings_and_overrides_are_dropped_and_joiners_and_marks_of_direction_stay():
    assert isolated("Eve \u202emoc.live\u202c") == "Eve moc.live"
    assert typed_text("\u202aa\u202bb\u202cc\u202dd\u202ee") == "abcde"
    assert typed_text("नि\u200dक \u200c\u200e\u200f") == "नि\u200dक \u200c\u200e\u200f"


@pytest.mark.parametrize("name", ["é \u2067", "é \u2069", "\u2069é\u2068"])
def test_an_isolate_that_ends_elsewhere_is_dropped(name):
    assert not set(typed_text(name)) & set("\u2067\u2068\u2069")
    assert not set(isolated(name)) & set("\u2067\u2068\u2069")
    assert typed_text("\u2067é\u2069") == "\u2067é\u2069"


def test_a_sentence_keeps_the_names_enclosed_in_it():
    sentence = f"with {isolated(HEBREW)} and Ada"
    assert isolated(sentence) == f"\u2068{sentence}\u2069"


@given(MARKED)
def test_whatever_is_typed_ends_with_its_own_text(text):
    depth = 0
    for one in isolated(text):
        assert not "\u202a" <= one <= "\u202e"
        depth += ("\u2066" <= one <= "\u2068") - (one == "\u2069")
        assert depth >= 0
    assert depth == 0
    assert without_turns(typed_text(text)) == typed_text(text)


@dataclass(frozen=True)
class Line:
    name: str
    day: date
    parts: tuple["Line", ...] = ()


def test_every_text_inside_a_value_is_isolated():
    day = date(2027, 5, 8)
    line = Line("Alder", day, (Line(HEBREW, day),))
    found = all_isolated({"paper": line, "cards": [{"turn": HEBREW}], "count": 3})
    assert found["paper"] == Line("Alder", day, (Line(f"\u2068{HEBREW}\u2069", day),))
    assert found["cards"] == [{"turn": f"\u2068{HEBREW}\u2069"}]
    assert found["count"] == 3
