"""Names in every script: what is printed, and what is refused before a paper is made."""

import unicodedata

import pytest

from tests.trips import paper_values as values
from tests.trips.paper_reading import one_line, text_of
from trips.documents.quantities import Fact
from trips.documents.scripts import NoFont
from trips.documents.wording.papers import paper_fault
from trips.services import pdf as printing
from trips.services import print_jobs
from trips.services.pdf import font_coverage, job_html, job_pdf

NAMES = (
    "Zoë Ångström Łukasz Đặng Nguyễn",
    "Ελένη Παπαδοπούλου",
    "Юрий Щёголев Їжак",
    "משה כהן",
    "محمد العربي",
    "李明觀鳥",
    "さくら カナ",
    "김민수",
    "สมชาย ใจดี",
)


def note_pdf(*texts: str) -> bytes:
    """A small paper with these texts on it."""
    paper = values.door_card(facts=tuple(Fact(f"N{number}", text) for number, text in enumerate(texts)), etiquette=())
    return job_pdf(print_jobs.door_card(paper))


def test_names_in_all_scripts_come_back_as_typed():
    text = text_of(note_pdf(*NAMES))
    for name in NAMES:
        assert name in text


def test_a_name_may_be_typed_with_separate_marks():
    name = unicodedata.normalize("NFD", "Zoë Ångström")
    assert unicodedata.normalize("NFC", name) in unicodedata.normalize("NFC", text_of(note_pdf(name)))


def test_a_script_without_a_font_is_refused_before_the_paper_is_made():
    with pytest.raises(NoFont) as refused:
        note_pdf("Toto writer \U0001e290\U0001e291")
    said = paper_fault(refused.value)
    assert "Toto" in said
    assert "fonts-noto-core" in said
    assert "Toto writer" in said


@pytest.mark.parametrize(
    ("name", "script", "package"),
    [
        ("Արամ Խաչատրյան", "Armenian", "fonts-noto-core"),
        ("አበበ ቢቂላ", "Ethiopic", "fonts-noto-core"),
        ("משה כהן", "Hebrew", "fonts-noto-core"),
        ("李明", "Han", "fonts-noto-cjk"),
    ],
)
def test_a_name_whose_font_is_not_installed_names_script_and_package(monkeypatch, name, script, package):
    here = font_coverage()
    bare = {family: here[family] for family in here if family in ("Source Sans Pro", "Noto Sans")}
    monkeypatch.setattr(printing, "font_coverage", lambda: bare)
    with pytest.raises(NoFont) as refused:
        job_html(print_jobs.briefing_job(values.briefing(person=name)))
    said = paper_fault(refused.value)
    assert f"No font here prints {script}" in said
    assert name in said
    assert f"Install the package {package}" in said


def test_every_script_we_promise_has_a_font_here():
    coverage = font_coverage()
    families = ("Source Sans Pro", "Noto Sans Hebrew", "Noto Sans Arabic", "Noto Sans CJK SC", "Noto Sans CJK KR")
    assert {*families, "Noto Sans Thai"} <= set(coverage)


def test_control_characters_leave_no_trace():
    text = text_of(note_pdf("be\x00fore\x07 and\x1b after\x7f\ufffe, first\r\nsecond"))
    assert "before and after" in one_line(text)
    assert "second" in text
