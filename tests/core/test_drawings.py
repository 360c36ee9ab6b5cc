"""Drawings of the light: well-formed, fit for a strict page and for paper, and told in words."""

import base64
import io
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from pypdf import PdfReader
from weasyprint import HTML

from trips.core import light
from trips.core.values import Hide, LightSettings, Point, Session, View
from trips.documents.drawings import SeatOptions, YearOptions, scoring_drawing, seat_drawing, year_drawing
from trips.documents.drawings.seat import RIM, rise
from trips.documents.drawings.svg import plain_text
from trips.documents.drawings.year import CELL_HEIGHT, CELL_WIDTH, LEFT, STEPS, TOP, steps_of, week_place
from trips.documents.wording.light import seat_description

ZONE = ZoneInfo("Europe/Madrid")
POINT = Point(39.5, -6.2, 0.0, "Europe/Madrid")
VIEW = View("v", "west window", 250.0, 6.0, 8.0, 4.5)
HIDE = Hide("a", "Alder", POINT, (VIEW,), (), roof_height_m=0.5)
SVG = "{http://www.w3.org/2000/svg}"


def session(first: int = 0, last: int = 24, point: Point = POINT) -> Session:
    zone = ZoneInfo(point.time_zone)
    ends = datetime(2027, 5, 9, tzinfo=zone) if last == 24 else datetime(2027, 5, 8, last, tzinfo=zone)
    return Session("s", "day", datetime(2027, 5, 8, first, tzinfo=zone), ends)


def drawn(hide: Hide = HIDE, when: Session | None = None, **options: object) -> str:
    return seat_drawing(light.session_light(hide, when or session()).views[0], SeatOptions(**options))  # type: ignore[arg-type]


HILLS = replace(HIDE, views=(replace(VIEW, horizon=((60.0, 4.0), (100.0, 12.0), (280.0, 8.0))),))
SOUTH = replace(HIDE, point=Point(-36.85, 174.76, 0.0, "Pacific/Auckland"))
POLAR = replace(HIDE, point=Point(78.2, 15.6, 0.0, "Arctic/Longyearbyen"))
EVERY = {
    "day": drawn(),
    "early": drawn(when=session(6, 11)),
    "night": drawn(when=session(0, 4)),
    "hills": drawn(HILLS, sessions=(session(7, 11),)),
    "south": drawn(SOUTH, session(point=SOUTH.point)),
    "polar": drawn(POLAR, session(point=POLAR.point)),
    "wide": drawn(framing=light.Framing(24.0)),
    "year": year_drawing(
        light.year_map(VIEW, HIDE, 2027),
        "Alder",
        YearOptions("y", (date(2027, 5, 8), date(2027, 5, 12)), (("Owl", frozenset({4, 5, 12})),)),
    ),
    "scoring": scoring_drawing(LightSettings()),
}


@pytest.mark.parametrize("name", EVERY)
def test_a_drawing_is_strict_and_plain(name: str) -> None:
    drawing = EVERY[name]
    root = ElementTree.fromstring(drawing)
    assert root.tag == f"{SVG}svg"
    assert "text-anchor" not in root.attrib
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    assert root.get("aria-labelledby", "").split() == [
        root.find(f"{SVG}title").get("id"),
        root.find(f"{SVG}desc").get("id"),
    ]  # type: ignore[union-attr]
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "defs", "pattern", "path", "circle", "rect", "text", "g",
        }  # fmt: skip
        assert not {"style", "onclick", "href"} & set(element.attrib)
        for key in ("x", "y", "r", "cx", "cy", "width", "height", "stroke-width"):
            if key in element.attrib:
                assert re.fullmatch(r"-?\d+(\.\d{1,2})?", element.attrib[key]), element.attrib[key]
    assert "nan" not in drawing
    assert "inf" not in re.sub(r">[^<]*<", "><", drawing)


@pytest.mark.parametrize("name", EVERY)
def test_all_that_is_drawn_lies_on_the_sheet(name: str) -> None:
    root = ElementTree.fromstring(EVERY[name])
    left, top, width, height = (float(part) for part in root.get("viewBox", "").split())
    for text in root.iter(f"{SVG}text"):
        x, y = float(text.get("x", "")), float(text.get("y", ""))
        room = 7.0 * len(text.text or "")
        anchor = text.get("text-anchor")
        before = {"start": 0.0, "middle": room / 2, "end": room}[anchor or ""]
        assert left <= x - before, (text.text, x)
        assert x - before + room <= left + width + 1.0, (text.text, x)
        assert top + 8.0 <= y <= top + height, (text.text, y)


def test_lengths_are_in_the_units_asked_for_in_figures_and_words() -> None:
    told = {units: ElementTree.fromstring(drawn(units=units)) for units in ("metric", "feet")}
    figures = {
        units: [text.text for text in root.iter(f"{SVG}text") if re.search(r" (m|ft)$", text.text or "")]
        for units, root in told.items()
    }
    assert figures == {"metric": ["8 m", "6 m", "4.5 m"], "feet": ["26 ft", "20 ft", "15 ft"]}
    description = told["feet"].find(f"{SVG}desc").text or ""  # type: ignore[union-attr]
    assert "a subject 20 ft to 26 ft away" in description
    assert " m " not in description


def test_the_seat_is_in_the_middle_the_subject_above_and_the_sun_behind_in_the_morning() -> None:
    root = ElementTree.fromstring(EVERY["early"])
    [bird] = [group for group in root.iter(f"{SVG}g") if group.get("class") == "drawing-bird"]
    feet = float(re.findall(r"-?\d+\.?\d*", bird.get("transform", ""))[1])
    assert feet < -60.0
    suns = [circle for circle in root.iter(f"{SVG}circle") if circle.get("class") == "drawing-sun"]
    assert len(suns) == 3  # sunrise, the hide's shadow off the perch, the end
    assert all(float(sun.get("cy", "")) > RIM * 0.9 for sun in suns)
    assert rise(0.0) == 0.0
    assert rise(90.0) == pytest.approx(92.0)
    assert np.all(np.diff([rise(height) for height in range(0, 91, 5)]) > 0)


def test_classes_are_named_in_their_order_round_the_seat() -> None:
    assert re.findall(r">(front|side|back|top)</text>", EVERY["day"]) == ["front", "top", "back"]


def test_times_of_change_stand_beside_the_track() -> None:
    texts = re.findall(r"<text[^>]*>([^<]+)</text>", EVERY["day"])
    assert {"07:18", "11:48", "16:55", "21:25", "250°", "6 m", "8 m", "4.5 m", "N"} <= set(texts)
    assert "the sun is down" in EVERY["night"]


def test_classes_are_told_by_pattern_and_word() -> None:
    fills = re.findall(r'class="drawing-class drawing-(\w+)" fill="([^"]+)"', EVERY["day"])
    assert dict(fills) == {"front": "currentColor", "top": "url(#seat-top)", "back": "url(#seat-back)"}


def test_an_open_horizon_is_said_to_be_assumed_and_hills_are_drawn() -> None:
    assert "Open horizon, assumed" in EVERY["day"]
    assert "stroke-dasharray" in EVERY["day"].split('class="drawing-rim"')[0].rsplit("<circle", 1)[1]
    assert 'class="drawing-hills"' in EVERY["hills"]
    assert "Hills stand on the rim, highest 12° at 100°" in EVERY["hills"]


def test_the_description_tells_classes_and_cautions() -> None:
    found = light.session_light(HIDE, session(6, 11)).views[0]
    text = seat_description(found)
    assert "perch in shade 07:18–07:44; front light 07:44–11:00" in text
    assert "near edge of the water" in text
    assert "6 m to 8 m" in text


@pytest.mark.parametrize("name", ["day", "year", "scoring"])
def test_labels_are_found_in_a_paper(name: str) -> None:
    drawing = EVERY[name]
    picture = base64.b64encode(drawing.encode()).decode()
    for body in (drawing, f'<img src="data:image/svg+xml;base64,{picture}" alt="">'):
        paper = HTML(string=f"<meta charset=utf-8><body>{body}").write_pdf()
        text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(paper)).pages)
        for label in {"day": ("07:18", "front", "top"), "year": ("Jan", "06:00", "Owl"), "scoring": ("front", "90")}[
            name
        ]:
            assert label in text


def test_pictographs_and_marks_in_names_do_no_harm() -> None:
    name = "Al\u200bder 🦅 <b> & “west” 39°"
    assert plain_text(name) == "Alder  <b> & “west” 39°"
    drawing = drawn(replace(HIDE, name=name))
    root = ElementTree.fromstring(drawing)
    assert "🦅" not in drawing
    assert "<b> & “west”" in (root.find(f"{SVG}title").text or "")  # type: ignore[union-attr]


def test_numbers_for_machines_do_not_follow_the_language(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LC_ALL", "de_DE.UTF-8")
    assert not re.search(r'="-?\d+,\d', drawn())


def test_the_year_map_draws_each_step_once_and_in_its_place() -> None:
    year = light.year_map(VIEW, HIDE, 2027)
    root = ElementTree.fromstring(year_drawing(year, "Alder"))
    steps = steps_of(year.scores)
    assert steps.min() >= 0
    assert steps.max() <= len(STEPS)
    for step in range(1, 5):
        cells = np.zeros_like(steps, dtype=bool)
        for path in root.iter(f"{SVG}path"):
            if path.get("class") == f"drawing-step drawing-step-{step}":
                for x, y, size in re.findall(r"M([\d.]+) ([\d.]+)h[\d.]+v([\d.]+)h", path.get("d", "")):
                    week = round((float(x) - LEFT) / CELL_WIDTH)
                    first = round((float(y) - TOP) / CELL_HEIGHT)
                    cells[week, first : first + round(float(size) / CELL_HEIGHT)] = True
        assert np.array_equal(cells, steps == step)


def test_the_trip_is_framed_where_it_lies() -> None:
    root = ElementTree.fromstring(EVERY["year"])
    [frame] = [rect for rect in root.iter(f"{SVG}rect") if rect.get("class") == "drawing-trip"]
    expected = LEFT + week_place(date(2027, 5, 8), 2027) * CELL_WIDTH
    assert float(frame.get("x", "")) == pytest.approx(expected - 2.0, abs=0.01)
    other = year_drawing(
        light.year_map(VIEW, HIDE, 2027), "Alder", YearOptions(trip=(date(2028, 5, 8), date(2028, 5, 9)))
    )
    assert "drawing-trip" not in other


def test_the_core_draws_without_files_of_its_own() -> None:
    folder = Path(seat_drawing.__code__.co_filename).parent
    assert {path.suffix for path in folder.iterdir() if path.is_file()} == {".py"}
