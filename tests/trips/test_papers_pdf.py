"""PDF of papers: sizes, tags, outline, fonts, and pages that break where they may."""

from dataclasses import replace

import numpy as np
import pytest
import weasyprint

from tests.trips import paper_values as values
from tests.trips.paper_reading import dots, one_line, page_texts, reader, structure, tags
from trips.documents.scripts import PaperFailed
from trips.services import pdf as printing
from trips.services import print_jobs
from trips.services.pdf import job_html, job_pdf


def test_only_the_layout_that_fits_is_written_and_the_likeliest_is_tried_first(monkeypatch):
    tried, written = [], []
    render, write = weasyprint.HTML.render, weasyprint.Document.write_pdf
    monkeypatch.setattr(weasyprint.HTML, "render", lambda self, **more: tried.append(1) or render(self, **more))
    monkeypatch.setattr(weasyprint.Document, "write_pdf", lambda self, **more: written.append(1) or write(self, **more))
    job_pdf(print_jobs.owner_sheet(values.owner_sheet(14)))
    assert len(tried) > len(written) == 1
    tried.clear()
    job_pdf(print_jobs.briefing_job(values.full_briefing()))
    assert len(tried) == 1


def test_drawings_stand_among_the_assets_alone():
    sheet = print_jobs.briefing_job(values.briefing())
    assert any(b"<svg" in asset.body for asset in sheet.assets.values())
    assert "<svg" not in repr(sheet.values)


def test_a_paper_with_much_text_begins_in_the_small_print():
    found = []
    for letters in (1, 20_000):
        paper = values.door_card(cautions=("A " * letters,))
        sheet = replace(print_jobs.door_card(paper), densities=("large", "small"), room=(20_000,))
        found.append(next(printing.tries(sheet)).values["density"])
    assert found == ["large", "small"]


def test_a_paper_is_tagged_titled_and_says_its_language(briefing_pdf):
    pdf = reader(briefing_pdf)
    root = pdf.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert pdf.metadata.title == "Briefing for Marta Olmedo Vidal, Oaks and water 2027"
    assert b'pdfuaid:part="1"' in root["/Metadata"].get_data()


def test_headings_tables_and_figures_are_in_the_structure(briefing_pdf):
    found = tags(briefing_pdf)
    assert found.count("H1") == 1
    assert {"H2", "H3", "H4", "Table", "THead", "TBody", "TR", "TH", "TD", "L", "LI", "P", "Figure"} <= set(found)
    figures = [element for element in structure(briefing_pdf) if element["/S"] == "/Figure"]
    assert len(figures) == 21  # the page's code, seven patterns, five hides' drawings, a bar for each turn
    assert all(str(figure["/Alt"]).strip() for figure in figures)


def test_the_outline_names_the_parts_the_hides_and_the_turns(briefing_pdf):
    def titles(outline):
        return [
            title for one in outline for title in (titles(one) if isinstance(one, list) else [one.title])
        ]  # fmt: skip

    found = titles(reader(briefing_pdf).outline)
    assert found[0] == "Marta Olmedo Vidal"
    assert {"Your turns", "Hide by hide", "What to bring", "Emergency", "Alder"} <= set(found)
    assert "Sat 8 May, early: Alder, right" in found


def test_all_fonts_are_inside_and_nothing_is_attached(briefing_pdf):
    pdf = reader(briefing_pdf)
    assert not pdf.attachments
    fonts = {}
    for page in pdf.pages:
        fonts |= {font.get_object()["/BaseFont"]: font.get_object() for font in page["/Resources"]["/Font"].values()}
    assert fonts
    for name, font in fonts.items():
        assert "Source-Sans-Pro" in name
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


@pytest.mark.parametrize(("size", "width", "height"), [("A4", 595.3, 841.9), ("Letter", 612, 792)])
def test_both_page_sizes(size, width, height):
    pdf = reader(job_pdf(print_jobs.gear_table(values.gear_table(2), size)))
    assert [round(float(number), 1) for number in pdf.pages[0].mediabox[2:]] == [width, height]


def test_another_page_size_is_refused():
    with pytest.raises(PaperFailed, match="page_size"):
        job_pdf(print_jobs.gear_table(values.gear_table(1), "A5; } body { display: none"))


def test_a_row_stays_on_one_page_and_headings_come_again():
    pages = page_texts(job_pdf(print_jobs.gear_table(replace(values.gear_table(40), loans=()))))
    assert len(pages) > 1
    for page in pages:
        if "Person " in page:
            assert "Spare batteries" in one_line(page)
    for number in range(40):
        (page,) = [text for text in pages if f"Person {number}\n" in text or f"Person {number} " in text]
        row = page[page.index(f"Person {number}") :].split("Person ")[1]
        assert "100-400 mm f/5.6" in one_line(row)
        assert "17 Wh" in one_line(row)


def test_red_light_sees_everything_that_white_light_sees(briefing_pdf):
    for number in range(1, len(reader(briefing_pdf).pages) + 1):
        page = dots(briefing_pdf, number).astype(int)
        assert (page.max(axis=2) - page.min(axis=2)).max() <= 2  # no colour at all
        red = page[:, :, 0]
        assert red.min() < 60
        assert np.mean((red > 60) & (red < 200)) < 0.12  # ink is black: grey is only the edge of letters


def test_the_same_values_give_the_same_html():
    sheet = print_jobs.briefing_job(values.briefing())
    assert job_html(sheet) == job_html(print_jobs.briefing_job(values.briefing()))
