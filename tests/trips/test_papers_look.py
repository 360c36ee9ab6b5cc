"""Every paper in three languages, on A4 and Letter: sizes of print, edges, lonely lines, length, nothing said twice."""

import re
import subprocess
import tempfile
from collections import Counter
from dataclasses import dataclass, replace
from html import unescape

import pytest
from django.conf import settings

from participants.speaking import speaking
from tests.trips import paper_values as values
from trips.documents.days import DaysPage
from trips.documents.rota_sheet import RotaSheet, rota_sheet
from trips.documents.safety import take_care
from trips.services import print_jobs
from trips.services.pdf import PrintJob, job_html, job_pdf

LANGUAGES, SIZES = ("en", "de", "es"), ("A4", "Letter")
PAGES = {"briefing": 4, "full": 5, "owner": 1, "door": 1, "form": 4, "care": 1, "day": 2, "gear": 1, "wall": 1}
ENGLISH_ALONE = ("day", "gear", "wall")
SMALLEST_PT, ZOOM = 8.0, 3  # sizes are read as whole numbers, so a page is read three times as large
MARGIN_PT = 11.0
ORDERS = [
    (kind, language, size)
    for kind in PAGES
    for language in LANGUAGES
    for size in SIZES
    if kind != "full" and (language == "en" or kind not in ENGLISH_ALONE)
]
ORDERS += [("full", "de", "A4"), ("full", "es", "Letter"), ("briefing", "en", "A5"), ("briefing", "es", "Phone")]
ORDERS += [
    (kind, "en" if kind in ENGLISH_ALONE else "de", "A5") for kind in PAGES if kind not in ("briefing", "full", "owner")
]
NARROW_PAGES = {"A5": 10, "Phone": 20}


def wall() -> RotaSheet:
    sessions = tuple(values.turn(number) for number in range(9))
    people = [(f"Person {number}", DaysPage("Oaks", 3, "Europe/Madrid", sessions=sessions)) for number in range(12)]
    return rota_sheet(values.head(title="Rota"), people)


MADE = {
    "briefing": lambda size: print_jobs.briefing_job(values.briefing(), size),
    "full": lambda size: print_jobs.briefing_job(values.full_briefing(), size),
    "owner": lambda size: print_jobs.owner_sheet(values.owner_sheet(), size),
    "door": lambda size: print_jobs.door_card(values.door_card(), size),
    "form": lambda size: print_jobs.registration_form(values.registration_form(), size),
    "care": lambda size: print_jobs.take_care(take_care(values.head(title="Take care")), size),
    "day": lambda size: print_jobs.day_sheet(values.day_sheet(), size),
    "gear": lambda size: print_jobs.gear_table(values.gear_table(), size),
    "wall": lambda size: print_jobs.rota_sheet(wall(), size),
}


@dataclass(frozen=True)
class Line:
    """A piece of text where it is printed: page, edges and size in points."""

    page: int
    left: float
    top: float
    right: float
    size: float
    text: str


@dataclass(frozen=True)
class Printed:
    """A paper as it came out: its HTML, the sides of each page in points, and its lines."""

    kind: str
    size: str
    html: str
    sides: tuple[tuple[float, float], ...]
    lines: tuple[Line, ...]

    def on(self, page: int) -> list[Line]:
        return [line for line in self.lines if line.page == page]


@pytest.fixture(scope="session", params=ORDERS, ids="-".join)
def paper(request) -> Printed:
    """One paper, printed once for all tests of this file."""
    kind, language, size = request.param
    with speaking(language):
        job = replace(MADE[kind](size), language=language)
        if request.param == ("briefing", "en", "A4"):
            return read(kind, size, job, request.getfixturevalue("briefing_pdf"))
        return read(kind, size, job, job_pdf(job))


def read(kind: str, size: str, job: PrintJob, pdf: bytes) -> Printed:
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        asked = ["pdftohtml", "-xml", "-i", "-hidden", "-zoom", str(ZOOM), "-stdout", file.name]
        text = subprocess.run(asked, capture_output=True, check=True, timeout=60).stdout.decode()
    sizes = {key: float(points) / ZOOM for key, points in re.findall(r'<fontspec id="(\d+)" size="(-?\d+)"', text)}
    sides, lines = [], []
    for number, page in enumerate(re.split(r"<page ", text)[1:]):
        height, width = (float(side) / ZOOM for side in re.search(r'height="(\d+)" width="(\d+)"', page).groups())
        sides.append((width, height))
        found = re.findall(
            r'<text top="(-?\d+)" left="(-?\d+)" width="(-?\d+)" height="-?\d+" font="(\d+)">(.*?)</text>', page
        )
        for top, left, wide, font, words in found:
            plain = unescape(re.sub(r"<[^>]*>", "", words)).strip()
            if plain:
                edges = float(left) / ZOOM, float(top) / ZOOM, (float(left) + float(wide)) / ZOOM
                lines.append(Line(number, *edges, sizes[font], plain))
    return Printed(kind, size, job_html(job), tuple(sides), tuple(lines))


def test_no_letter_is_smaller_than_eight_points(paper):
    assert [line for line in paper.lines if line.size < SMALLEST_PT - 1 / ZOOM] == []


def test_nothing_runs_over_the_edge(paper):
    for line in paper.lines:
        width, height = paper.sides[line.page]
        assert line.left >= MARGIN_PT, line
        assert line.right <= width - MARGIN_PT + 1.0, line
        assert 0 < line.top < height, line


def test_a_paper_has_no_more_pages_than_it_may(paper):
    assert len(paper.sides) <= NARROW_PAGES.get(paper.size, PAGES[paper.kind])


def test_no_line_and_no_row_stands_alone_on_a_page(paper):
    for page, (_width, height) in enumerate(paper.sides):
        own = [line for line in paper.on(page) if line.top < height - 42.0]
        assert len({round(line.top) for line in own}) >= 3
        boxes = {round(line.top) for line in own if line.text.startswith("☐")}
        assert paper.kind != "day" or len(boxes) != 1


def test_nothing_is_said_twice(paper):
    """Sentences with numbers are facts, and what is to mind is told in each hide; all others stand once."""
    text = re.sub(r'<style>.*?</style>|<ul class="mind">.*?</ul>', "", paper.html, flags=re.DOTALL)
    blocks = re.split(r"</?(?:p|li|td|th|dd|dt|h\d|div|tr|section|article)\b[^>]*>", text)
    said = [" ".join(unescape(re.sub(r"<[^>]*>", " ", block)).split()) for block in blocks]
    sentences = [one.strip() for block in said for one in re.findall(r"[^.!?]+[.!?]", block)]
    counted = Counter(one for one in sentences if len(one.split()) >= 8 and not re.search(r"\d", one))
    assert [one for one, times in counted.items() if times > 1] == []


def test_the_sizes_of_papers_are_in_one_file_and_none_is_below_eight_points():
    sizes = [float(one) for one in re.findall(r"([\d.]+)pt", sizes_text())]
    assert min(sizes) >= SMALLEST_PT


def sizes_text() -> str:
    folder = settings.BASE_DIR / "templates" / "papers"
    lines = "".join((folder / name).read_text() for name in ("sizes.css", "paper.css")).splitlines()
    return "\n".join(
        re.sub(r"border[^;]*;", "", line) for line in lines if "font-size" in line or line.strip().startswith("--")
    )
