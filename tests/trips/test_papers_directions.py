"""Papers on which names run from right to left, or were typed with marks that turn a line round."""

from dataclasses import replace

import pytest

from tests.trips import paper_values as values
from tests.trips.paper_reading import one_line, page_texts, text_of
from trips.documents.day_sheet import PickUpLine
from trips.documents.quantities import Fact
from trips.services import paper_sheets
from trips.services.press import sheet_pdf

HEBREW, ARABIC = "בית הציפורים", "مخبأ الطيور"


@pytest.mark.parametrize("name", [HEBREW, ARABIC, "Alder"])
def test_the_window_of_a_hide_is_read_from_its_start_to_its_end(name):
    sheet = values.day_sheet()
    lines = (PickUpLine(name, "10:30–10:45", True), PickUpLine(name, "10:30–10:45"))
    session = replace(sheet.sessions[0], pick_ups=lines)
    text = one_line(text_of(sheet_pdf(paper_sheets.day_sheet(replace(sheet, sessions=(session,))))))
    told = "(light still front, ask first)"
    assert f"Fetched after a signal: {name} 10:30–10:45 {told}; {name} 10:30–10:45" in text


def test_a_typed_override_turns_neither_the_foot_nor_the_lines_of_a_paper():
    sheet = values.day_sheet(head=values.head(title="Day sheet", trip="Eve \u202emoc.live"))
    for page in page_texts(sheet_pdf(paper_sheets.day_sheet(sheet))):
        assert "Eve moc.live · Day sheet, Saturday 8 May · rota 3, issued · made 7 May 2027 19:05" in one_line(page)


def test_the_dates_of_a_trip_with_a_hebrew_name_stand_in_order():
    paper = values.briefing(head=values.head(trip=HEBREW), dates="8 to 13 May 2027", turns=())
    pdf = sheet_pdf(paper_sheets.briefing_sheet(paper))
    assert "8 to 13 May 2027 · rota 3, issued" in page_texts(pdf)[0]


def test_names_are_printed_as_typed_without_a_mark_around_them():
    card = values.door_card(hide=HEBREW, facts=(Fact("Seats", "left, שמאל 2"),))
    text = text_of(sheet_pdf(paper_sheets.door_card(card)))
    assert HEBREW in text
    assert not set(text) & set("\u2066\u2067\u2068\u2069")
