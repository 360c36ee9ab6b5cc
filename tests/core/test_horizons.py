"""The horizon line: typed, pasted, derived."""

import csv
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadShape, BadValue, NeverHappens
from trips.core import horizons
from trips.core.values import Point

DATA = Path(__file__).parent / "data"
POINT = Point(39.5, -6.2, 320.0, "Europe/Madrid")
ZONE = ZoneInfo("Europe/Madrid")


def test_heights_between_points_and_past_north_agree_with_the_table() -> None:
    with (DATA / "geometry_mask.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert len(rows) == 5
    for row in rows:
        line = horizons.horizon_from_text(row["mask_points(az:angle)"])
        found = horizons.height_at_deg(line, np.array([float(row["azimuth"])]))
        assert found[0] == pytest.approx(float(row["mask_deg"]), abs=1e-9)


def test_an_open_horizon_is_flat_and_one_point_is_level() -> None:
    everywhere = np.array([0.0, 123.0, 359.9])
    assert horizons.height_at_deg((), everywhere).tolist() == [0.0, 0.0, 0.0]
    assert horizons.height_at_deg(((90.0, 7.0),), everywhere).tolist() == [7.0, 7.0, 7.0]


@pytest.mark.parametrize(
    "text",
    [
        "0:2 60:4 350:2",
        "0:2, 60:4, 350:2",
        "0 : 2; 60:4;350:2",
        "0,2\n60,4\n350,2\n",
        "\ufeffazimuth;height\r\n0;2\r\n60;4\r\n350;2",
        "0\t2\n60\t4\n350\t2",
        "0 2\n60 4\n\n350 2",
        "0;2,0\n60;4,0\n350;2,0",
        "0,2\n60,4\n350,2\n360,2",
    ],
)
def test_pairs_are_read_in_any_usual_form(text: str) -> None:
    found = horizons.horizon_from_text(text)
    assert found == ((0.0, 2.0), (60.0, 4.0), (350.0, 2.0))


def test_a_point_at_360_is_one_at_north() -> None:
    assert horizons.horizon_from_text("90:5 360:2") == ((0.0, 2.0), (90.0, 5.0))


def test_an_empty_text_is_an_open_horizon() -> None:
    assert horizons.horizon_from_text("  \n") == ()


@pytest.mark.parametrize(
    ("text", "kind", "named"),
    [
        ("0:2 60:91", BadValue, "horizon_height_deg"),
        ("0:2 361:4", BadValue, "horizon_azimuth_deg"),
        ("0:-11", BadValue, "horizon_height_deg"),
        ("60:4 0:2", BadShape, "unsorted"),
        ("60:4 60:5", BadShape, "unsorted"),
        ("60:nan", BadValue, "horizon_height_deg"),
        ("60:x", BadShape, "not_a_pair"),
        ("60,4,5", BadShape, "not_a_pair"),
        ("sixty", BadShape, "not_a_pair"),
    ],
)
def test_a_line_that_cannot_be_is_refused(text: str, kind: type[Exception], named: str) -> None:
    with pytest.raises(kind) as refused:
        horizons.horizon_from_text(text)
    assert named in refused.value.data.values()  # type: ignore[attr-defined]


def test_a_horizon_is_derived_from_when_the_sun_came_and_went() -> None:
    came = datetime(2027, 5, 8, 8, 7, tzinfo=ZONE)
    went = datetime(2027, 5, 8, 20, 0, tzinfo=ZONE)
    line = horizons.horizon_from_moments(POINT, [went, came])
    assert len(line) == 2
    assert line[0][0] == pytest.approx(74.5, abs=0.3)
    assert line[0][1] == pytest.approx(8.2, abs=0.2)
    assert line[1] == (pytest.approx(280.2, abs=0.2), pytest.approx(14.9, abs=0.2))
    level = horizons.horizon_from_moments(POINT, [came])
    assert horizons.height_at_deg(level, np.array([200.0]))[0] == level[0][1]


def test_a_sighting_at_night_never_happens() -> None:
    with pytest.raises(NeverHappens):
        horizons.horizon_from_moments(POINT, [datetime(2027, 5, 8, 3, 0, tzinfo=ZONE)])
    with pytest.raises(BadShape):
        horizons.horizon_from_moments(POINT, [])


@given(st.lists(st.tuples(st.integers(0, 359), st.floats(0.0, 60.0)), min_size=1, max_size=8, unique_by=lambda p: p[0]))
@settings(max_examples=60)
def test_a_line_goes_through_its_points_and_never_leaves_their_range(points: list[tuple[int, float]]) -> None:
    line = horizons.checked_horizon(sorted((float(azimuth), height) for azimuth, height in points))
    heights = horizons.height_at_deg(line, np.arange(0.0, 360.0, 7.0))
    values = [height for _, height in line]
    assert min(values) - 1e-9 <= heights.min()
    assert heights.max() <= max(values) + 1e-9
    for azimuth, height in line:
        assert horizons.height_at_deg(line, np.array([azimuth]))[0] == pytest.approx(height)
