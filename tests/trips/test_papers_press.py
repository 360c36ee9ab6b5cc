"""The press is closed to the world, and a paper that would lack something is not made."""

import http.server
import threading

import pytest
from weasyprint.urls import FatalURLFetchingError

from tests.trips import paper_values as values
from tests.trips.paper_reading import reader, text_of
from trips.core.reach import Reach, Remark
from trips.documents.quantities import fact
from trips.documents.scripts import NoFont, PaperFailed
from trips.services import print_jobs
from trips.services.pdf import Asset, PrintJob, html_pdf, job_pdf, packaged_assets

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
    window = values.view(
        values.moment(8, 6, 45), reach=Reach("good", 1.0, Remark("fills_frame"), values.gear(texts[7]))
    )
    briefing = values.briefing(
        person=texts[0],
        sessions=(values.turn(0, hide=texts[1], seat=texts[3], cautions=texts[6], views=(window,)),),
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
        packaged_assets({"code": Asset(b"", "image/svg+xml")}).fetch(url)


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
    session = values.turn(0)
    return print_jobs.briefing_job(values.briefing((session,), cards=(values.card(session, drawing=svg),)))


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
