"""Tables as text: encodings, separators, and cells that nobody runs."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadShape
from participants.core.table_text import FORMULA_STARTS, cell_read, cell_written, heading_key, table_read, table_written

KNOWN = frozenset({"name", "diet"})
cells = st.one_of(
    st.text(max_size=12), st.builds(lambda mark, rest: mark + rest, st.sampled_from([*FORMULA_STARTS, "'"]), st.text())
)


@settings(max_examples=300, deadline=None)
@given(cells)
def test_a_cell_comes_back_as_it_was_and_leaves_without_a_formula(text):
    written = cell_written(text)
    assert cell_read(written) == text
    assert not written.startswith(FORMULA_STARTS)


def test_a_cell_is_read_without_marks_that_would_turn_a_line_round():
    data = "name,diet\r\nAna \u202eCruz,\u2067לחם\u2069\r\n".encode()
    assert table_read(data, KNOWN).rows == ((2, ("Ana Cruz", "\u2067לחם\u2069")),)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(st.text("ab,;\t|\"'=\n", min_size=1), st.text("x,;\r\n", max_size=5)), min_size=1, max_size=5)
)
def test_a_table_comes_back_whatever_stands_in_it(rows):
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    found = table_read(table_written(("name", "diet"), rows), KNOWN, delimiter=",")
    assert [cells for _, cells in found.rows] == rows


@given(st.binary(max_size=200))
def test_any_bytes_are_a_table_or_refused(data):
    try:
        table_read(data, KNOWN)
        reason = "none"
    except BadShape as refusal:
        reason = refusal.reason
    assert reason in {"none", "not_text", "not_a_table", "wrong_encoding", "empty"}


def test_headings_are_compared_without_their_looks():
    assert heading_key(" Emergency-Contact ") == heading_key("emergency_contact") == "emergency_contact"


def test_rows_keep_their_numbers_past_empty_lines():
    found = table_read(b"name\r\n\r\nAna\r\n,,\r\nBo\r\n", KNOWN, delimiter=",")
    assert [number for number, _ in found.rows] == [3, 5]


@pytest.mark.parametrize(
    ("encoding", "delimiter", "reason"),
    [("rot13", "", "unknown_encoding"), ("utf-8", "", "wrong_encoding"), ("cp1252", "x", "unknown_delimiter")],
)
def test_a_wrong_choice_is_refused_with_its_reason(encoding, delimiter, reason):
    with pytest.raises(BadShape) as refusal:
        table_read("name\r\nÅsa".encode("cp1252"), KNOWN, encoding=encoding, delimiter=delimiter)
    assert refusal.value.reason == reason
