"""The drawing of a run: found and best possible drawing together."""

import re
import xml.etree.ElementTree as ElementTree

import pytest

from trips.documents.drawings import closing_drawing

SVG = "{http://www.w3.org/2000/svg}"


def texts(drawing: str) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(drawing).iter(f"{SVG}text")]


def test_a_run_is_drawn_from_its_first_plan_to_its_last_second() -> None:
    drawing = closing_drawing([[0.4, 0.7, 1.0], [3.0, 0.81, 0.9], [9.5, 0.899, 0.9128]], 12)
    assert texts(drawing) == ["0.75", "1.00", "0 s", "12 s", "possible 0.913", "found 0.899"]
    assert "After 12 s: found 0.899, best possible 0.913." in drawing
    assert "style=" not in drawing
    assert "<script" not in drawing


@pytest.mark.parametrize(
    "steps", [[[0.0, 1.0, 1.0]], [[0.0, 0.0, 0.0]], [[5.0, 0.8, 0.8]], [[0.1, 0.899, 0.9], [0.1, 0.89, 0.89]]]
)
def test_every_line_and_word_lies_within_the_drawing(steps: list[list[float]]) -> None:
    drawing = closing_drawing(steps, 0)
    root = ElementTree.fromstring(drawing)
    width, height = float(root.get("width", "")), float(root.get("height", ""))
    for path in root.iter(f"{SVG}path"):
        places = [float(value) for value in re.findall(r"-?[\d.]+", path.get("d", ""))]
        assert all(0 <= x <= width for x in places[::2])
        assert all(0 <= y <= height for y in places[1::2])
    lines = [float(text.get("y", "")) for text in root.iter(f"{SVG}text") if " 0." in f" {text.text}"]
    assert all(9 <= y <= height for y in lines)


def test_the_two_words_at_the_end_never_lie_on_each_other() -> None:
    for found in (0.0, 0.5, 0.97, 1.0):
        drawing = closing_drawing([[0.0, 0.0, 1.0], [1.0, found, 1.0]], 4)
        heights = [float(text.get("y", "")) for text in ElementTree.fromstring(drawing).iter(f"{SVG}text")][-2:]
        assert abs(heights[0] - heights[1]) >= 12
