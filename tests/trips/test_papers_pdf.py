"""PDF of papers: tagged, closed to the world, and loud when something would be missing."""

import http.server
import threading
import unicodedata
from dataclasses import replace

import numpy as np
import pytest
import weasyprint
from weasyprint.urls import FatalURLFetchingError

from tests.trips import paper_values as values
from tests.trips.paper_reading import dots, one_line, page_texts, reader, structure, tags, text_of
from trips.documents.quantities import Fact, fact
from trips.documents.scripts import NoFont, PaperFailed
from trips.documents.wording.papers import paper_fault
from trips.services import pdf as printing
from trips.services import print_jobs
from trips.services.pdf import Asset, PackagedAssets, PrintJob, font_coverage, html_pdf, job_html, job_pdf

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


@pytest.fixture(scope="module")
def briefing_pdf() -> bytes:
    return job_pdf(print_jobs.briefing_job(values.briefing()))


def note_pdf(*texts: str) -> bytes:
    """A small paper with these texts on it."""
    paper = values.door_card(facts=tuple(Fact(f"N{number}", text) for number, text in enumerate(texts)), etiquette=())
    return job_pdf(print_jobs.door_card(paper))


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
    assert {"H2", "H3", "Table", "THead", "TBody", "TR", "TH", "TD", "L", "LI", "P", "Figure"} <= set(found)
    figures = [element for element in structure(briefing_pdf) if element["/S"] == "/Figure"]
    assert len(figures) == 9  # the code of the page and a drawing a turn
    assert all(str(figure["/Alt"]).strip() for figure in figures)


def test_the_outline_names_the_parts_and_the_turns(briefing_pdf):
    def titles(outline):
        return [
            title for one in outline for title in (titles(one) if isinstance(one, list) else [one.title])
        ]  # fmt: skip

    found = titles(reader(briefing_pdf).outline)
    assert found[0] == "Marta Olmedo Vidal"
    assert {"Your turns", "Turn by turn", "What to bring", "Emergency", "Sat 8 May, Early: Alder, right"} <= set(found)


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


HOSTILE = (
    '<img src="file:///etc/passwd">',
    "</p></body><script>alert(1)</script>",
    "{{ head.trip }}{% include 'papers/paper.css' %}",
    "</style><style>@import url(ADDRESS/a.css)</style>",
    '<link rel=attachment href="ADDRESS/b">',
    '<object data="ADDRESS/c"></object><a href="ADDRESS/d">press</a>',
    "url(ADDRESS/e) \\a } body { display: none }",
    '" onload="x" style="background: url(ADDRESS/f)',
)


@pytest.fixture
def listener():
    """A web server on this machine that notes what it is asked for."""
    asked: list[str] = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_args):
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}", asked
    server.shutdown()
    server.server_close()


def test_markup_and_addresses_are_printed_as_typed_and_nothing_is_fetched(listener):
    address, asked = listener
    texts = [text.replace("ADDRESS", address) for text in HOSTILE]
    briefing = values.briefing(
        person=texts[0],
        turns=(values.turn(0, hide=texts[1], seat=texts[3], note=texts[6], lens=texts[7]),),
        site_facts=tuple(fact(text, text) for text in texts),
    )
    pdf = job_pdf(print_jobs.briefing_job(briefing))
    joined = "".join(text_of(pdf).split())
    for text in texts:
        assert "".join(text.split()) in joined
    assert asked == []
    assert not reader(pdf).attachments
    assert all("/Annots" not in page for page in reader(pdf).pages)


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd",
        "http://127.0.0.1:1/",
        "https://example.org/a.css",
        "data:text/css,body{}",
        "fairhide:font/../../etc/passwd",
        "fairhide:picture/none",
        "fairhide:templates/papers/paper.css",
        "ftp://127.0.0.1/",
        "FILE:/etc/hostname",
    ],
)
def test_the_press_answers_its_own_addresses_alone(url):
    with pytest.raises(FatalURLFetchingError):
        PackagedAssets({"code": Asset(b"", "image/svg+xml")}).fetch(url)


@pytest.mark.parametrize(
    "html",
    [
        '<img alt="x" src="file:///etc/hostname">',
        "<style>@import url(file:///etc/hostname);</style>",
        '<link rel="stylesheet" href="http://127.0.0.1:1/a.css">',
        '<link rel="attachment" href="file:///etc/hostname">',
        '<p style="background: url(http://127.0.0.1:1/a.png)">x</p>',
        '<svg xmlns="http://www.w3.org/2000/svg"><title>t</title><image href="file:///etc/hostname" width="9"/></svg>',
    ],
)
def test_a_template_that_reaches_out_makes_no_paper(html):
    with pytest.raises(PaperFailed):
        html_pdf(f'<html lang="en"><title>t</title><body>{html}</body></html>', {})


def drawing_sheet(svg: str) -> PrintJob:
    view = replace(values.view(), drawing=svg)
    turn = values.turn(0, card=replace(values.card(), views=(view,)))
    return print_jobs.briefing_job(values.briefing(turns=(turn,)))


def test_the_text_of_a_drawing_is_text_on_paper(briefing_pdf):
    assert "perch 6 m" in text_of(briefing_pdf)


def test_a_drawing_with_its_anchor_at_the_root_keeps_its_text():
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" width="100" height="100" text-anchor="middle" '
        'font-family="Source Sans Pro"><text x="50" y="50">anchored label</text></svg>'
    )
    assert "anchored label" in text_of(job_pdf(drawing_sheet(svg)))


@pytest.mark.parametrize(
    "svg",
    [
        "<svg xmlns='http://www.w3.org/2000/svg'><text>half",
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'><image href='file:///etc/hostname'/></svg>",
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'><text>\N{EAGLE}\U0001e290</text></svg>",
        "no drawing at all",
    ],
)
def test_a_drawing_that_would_be_missing_or_cut_makes_no_paper(svg):
    with pytest.raises((PaperFailed, NoFont)):
        job_pdf(drawing_sheet(svg))


def test_a_row_stays_on_one_page_and_headings_come_again():
    pages = page_texts(job_pdf(print_jobs.gear_table(replace(values.gear_table(70)))))
    assert len(pages) > 2
    for page in pages:
        if "Person " in page:
            assert "Spare batteries" in one_line(page)
    for number in range(70):
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
