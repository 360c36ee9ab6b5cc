"""The thin lens against published values, a numeric solve and what must always hold."""

import csv
import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from participants.core import optics
from participants.core.errors import BadValue, CannotFocus

CHECKS = Path(__file__).parent / "data" / "optics.csv"
FORMATS = Path(__file__).parent / "data" / "sensor_formats.csv"
FEET, INCH = 304.8, 25.4


COMPUTED = {  # row of the file: how our doors (or the named relation on top of them) give the value, in the row's unit
    "1": lambda: (optics.hyperfocal_mm(2 * INCH, 8, 0.002 * INCH) - 2 * INCH) / FEET,
    "3": lambda: 12 * (1 + 0.5),
    "5": lambda: (optics.sensor_distance_mm(10 * INCH, 1 / 4) - 10 * INCH * (1 + 1 / 4)) / INCH,
    "7": lambda: (optics.sensor_distance_mm(10 * INCH, 5 / 72) - 10 * INCH * (1 + 5 / 72)) / INCH,
    "9": lambda: optics.sensor_distance_mm(10 * INCH, 5 / 72) / INCH,
    "11": lambda: optics.depth_of_field_mm(155, 2.8, 10 * FEET, 0.002 * INCH)[0] / FEET,
    "13": lambda: 2 * 10.2 * 9.8 / (10.2 + 9.8),
    "15": lambda: 305 * 10 / 30,
    "17": lambda: 4 * 20 / 8,
    "19": lambda: optics.hyperfocal_mm(50, 8, 0.03) - 50,
    "21": lambda: (
        optics.depth_of_field_mm(50, 8, half_hyperfocal_distance_mm(), 0.03)[0]
        - 50 * (1 + optics.thin_lens_magnification(50, half_hyperfocal_distance_mm()))
    ),
    "23": lambda: eighth_of_hyperfocal(),
    "25": lambda: (optics.hyperfocal_mm(6 * INCH, 8, 0.01 * INCH) - 6 * INCH) / FEET,
    "27": lambda: 2 ** optics.close_up_loss_stops(0.5),
    "29": lambda: optics.thin_lens_magnification(50, 450 + 1 / (1 / 50 - 1 / 450)),
    "31": lambda: optics.thin_lens_magnification(50, 450 + 1 / (1 / 50 - 1 / 450)) + 25 / 50,
    "33": lambda: optics.exposure_value(16, 1 / 125),
    "35": lambda: optics.exposure_value(11, 1 / 30),
    "45": lambda: optics.circle_mm(36, 24),
    "47": lambda: math.hypot(36, 24) / math.hypot(17.3, 13),
    "49": lambda: math.hypot(36, 24) / math.hypot(22.3, 14.9),
    "51": lambda: math.hypot(36, 24) / math.hypot(44, 33),
    "53": lambda: 2 * math.log2(2.0),
    "54": lambda: 4 * 1.4,
    "55": lambda: 400 * 1.5,
    "56": lambda: optics.stopped_down(4, 2 / 3),
    "57": lambda: optics.stopped_down(4, 1),
    "58": lambda: math.log2(6400 / 3200),
    "59": lambda: 420 / INCH * 300,
    "61": lambda: 35 / INCH * 300,
    "63": lambda: optics.magnification(600, 20_000),
    "65": lambda: optics.magnification(840, 30_000),
    "67": lambda: optics.focus_range_mm(600, 5180, max_magnification=0.15428, tube_mm=25)[0] / 1000,
    "69": lambda: depth_mm(600, 5.6, 10_000, 0.03),
    "71": lambda: optics.blur_pixels(0.7, 1 / 1000, optics.magnification(600, 10_000), 0.00436),
}


def half_hyperfocal_distance_mm() -> float:
    """The sensor distance at which a 50 mm lens is focused at half its hyperfocal distance from the lens."""
    away = (optics.hyperfocal_mm(50, 8, 0.03)) / 2
    return away + 1 / (1 / 50 - 1 / away)


def eighth_of_hyperfocal() -> float:
    """Near end / distance, both from the lens, at an eighth of the hyperfocal distance; the rule is far-field."""
    away = optics.hyperfocal_mm(50, 1, 0.03) / 8
    behind = 1 / (1 / 50 - 1 / away)
    return (optics.depth_of_field_mm(50, 1, away + behind, 0.03)[0] - behind) / away


def depth_mm(focal: float, number: float, distance: float, circle: float) -> float:
    """The depth of field from near to far."""
    near, far = optics.depth_of_field_mm(focal, number, distance, circle)
    return far - near


def published() -> list[dict[str, str]]:
    """The rows of the file."""
    with CHECKS.open(newline="") as rows:
        return list(csv.DictReader(rows))


@pytest.mark.parametrize("row", published(), ids=lambda row: f"{row['id']} {row['topic']}")
def test_every_published_value_is_met_within_its_tolerance(row):
    assert COMPUTED[row["id"]]() == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_every_row_of_the_file_is_computed_and_no_other():
    assert {row["id"] for row in published()} == set(COMPUTED)


def test_the_notes_of_the_computed_rows_hold_too():
    scale = optics.magnification(600, 20_000)
    assert 350 * scale / 36 == pytest.approx(0.311, abs=0.0005)
    assert int(350 * scale / (36 / 8256)) == 2564
    assert 36 / scale == pytest.approx(1127, abs=0.5)
    scale = optics.magnification(840, 30_000)
    assert 900 * scale / 36 == pytest.approx(0.742, abs=0.0005)
    assert int(900 * scale / (36 / 8256)) == 6127
    assert 36 / scale == pytest.approx(1213, abs=0.5)
    near = optics.focus_range_mm(600, 5180, max_magnification=0.15428, tube_mm=25)[0]
    with_tube = optics.magnification(600, near, near_limit_mm=5180, max_magnification=0.15428, tube_mm=25)
    assert with_tube == pytest.approx(0.1959, abs=0.0005)
    assert optics.close_up_loss_stops(with_tube) == pytest.approx(0.52, abs=0.005)
    assert optics.close_up_loss_stops(0.15428) == pytest.approx(0.41, abs=0.005)


def test_three_pixels_of_blur_need_the_published_shutter():
    scale = optics.magnification(600, 10_000)
    assert 1 / (3 * 0.00436 / (scale * 700)) == pytest.approx(3666, abs=1)
    assert optics.blur_pixels(0.7, 1 / 2000, scale, 0.00436) == pytest.approx(5.5, abs=0.05)


@pytest.mark.parametrize("row", list(csv.DictReader(FORMATS.open(newline=""))), ids=lambda row: row["format"])
def test_sensor_formats_have_their_published_diagonals_crops_and_circles(row):
    width, height = float(row["width_mm"]), float(row["height_mm"])
    assert math.hypot(width, height) == pytest.approx(float(row["diagonal_mm"]), abs=0.006)
    assert math.hypot(36, 24) / math.hypot(width, height) == pytest.approx(float(row["crop_diagonal"]), abs=0.0006)
    assert 36 / width == pytest.approx(float(row["crop_width"]), abs=0.0006)
    assert optics.circle_mm(width, height) == pytest.approx(float(row["coc_d1500_mm"]), abs=0.00006)


def test_a_600_mm_lens_at_six_metres_sees_what_the_drawing_says():
    assert 36 / optics.magnification(600, 6000) == pytest.approx(283, abs=0.5)
    assert 36 / optics.magnification(600, 6000, near_limit_mm=5200) == pytest.approx(360, abs=0.5)
    assert 23.5 / optics.magnification(600, 6000) == pytest.approx(185, abs=0.5)
    assert 23.5 / optics.magnification(600, 6000, near_limit_mm=5200) == pytest.approx(235, abs=0.5)
    assert 36 / optics.magnification(300, 6000) == pytest.approx(646, abs=0.5)
    assert 36 / optics.magnification(300, 6000, near_limit_mm=2800) == pytest.approx(720, abs=0.5)


def test_tubes_do_what_the_trade_says_of_them():
    """Common practice, no source: 25 mm on 600 mm loses everything beyond 15.6 m; 20 mm brings 18 ft to about 14."""
    assert optics.focus_range_mm(600, 17 * FEET, tube_mm=25)[1] == pytest.approx(15_600, abs=50)
    assert optics.focus_range_mm(600, 18 * FEET, tube_mm=20)[0] / FEET == pytest.approx(14, abs=0.1)


focals = st.floats(20, 1200)
farness = st.floats(4.0001, 5000)


@settings(max_examples=150, deadline=None)
@given(focal=focals, times=farness)
def test_the_closed_form_agrees_with_a_numeric_thin_lens_solve(focal, times):
    distance = focal * times

    def miss(behind):
        return 1 / behind + 1 / (distance - behind) - 1 / focal

    behind = brentq(miss, focal * (1 + 1e-12), distance / 2, xtol=1e-13, rtol=8.9e-16)
    numeric = behind / (distance - behind)
    assert optics.thin_lens_magnification(focal, distance) == pytest.approx(numeric, rel=1e-9, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(focal=focals, times=st.floats(4, 20), factor=st.sampled_from([1.25, 1.4, 1.7, 2.0]), ahead=st.floats(1, 40))
def test_a_converter_scales_the_image_and_leaves_the_near_limit(focal, times, factor, ahead):
    limit = focal * times
    assert optics.focus_range_mm(focal, limit, converter=factor) == optics.focus_range_mm(focal, limit)
    plain = optics.magnification(focal, limit * ahead, near_limit_mm=limit)
    extended = optics.magnification(focal, limit * ahead, near_limit_mm=limit, converter=factor)
    assert extended == pytest.approx(plain * factor)


@settings(max_examples=150, deadline=None)
@given(
    focal=st.floats(60, 1200),
    times=st.floats(4, 20),
    stated=st.one_of(st.none(), st.floats(0.02, 1.0)),
    tubes=st.tuples(st.floats(5, 60), st.floats(5, 60)),
)
def test_a_tube_never_moves_the_nearest_or_farthest_focus_outward(focal, times, stated, tubes):
    short, long = sorted(tubes)
    ranges = [
        optics.focus_range_mm(focal, focal * times, max_magnification=stated, tube_mm=tube) for tube in (0, short, long)
    ]
    for bare, longer in pairwise(ranges):
        assert longer[0] <= bare[0] * (1 + 1e-12)
        assert longer[1] <= bare[1] * (1 + 1e-12)


@settings(max_examples=100, deadline=None)
@given(focal=focals, times=st.floats(4, 20), first=st.floats(1, 200), second=st.floats(1, 200))
def test_the_image_shrinks_as_the_subject_goes_away(focal, times, first, second):
    near, far = sorted((first, second))
    limit = focal * times
    assert optics.magnification(focal, limit * near, near_limit_mm=limit) >= optics.magnification(
        focal, limit * far, near_limit_mm=limit
    ) * (1 - 1e-12)


@settings(max_examples=100, deadline=None)
@given(focal=focals, number=st.floats(1.4, 22), times=st.floats(4.5, 500))
def test_depth_of_field_holds_the_subject_and_grows_with_the_f_number(focal, number, times):
    near, far = optics.depth_of_field_mm(focal, number, focal * times, 0.03)
    assert near < focal * times < far
    closed = optics.depth_of_field_mm(focal, number * 1.4, focal * times, 0.03)
    assert closed[0] < near
    assert closed[1] >= far


def test_a_stated_magnification_holds_at_the_near_limit():
    assert optics.magnification(400, 980, near_limit_mm=980, max_magnification=0.38) == pytest.approx(0.38, rel=1e-9)


def test_out_of_range_says_the_range():
    with pytest.raises(CannotFocus) as refusal:
        optics.magnification(800, 6000, near_limit_mm=6500)
    assert (refusal.value.distance_mm, refusal.value.nearest_mm) == (6000, 6500)
    with pytest.raises(CannotFocus) as refusal:
        optics.magnification(600, 16_000, near_limit_mm=5180, tube_mm=25)
    assert refusal.value.farthest_mm == pytest.approx(15_625)
    with pytest.raises(CannotFocus):
        optics.magnification(600, 2000)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, "600", None, True])
def test_values_that_cannot_be_are_refused_by_name(bad):
    with pytest.raises(BadValue) as refusal:
        optics.magnification(bad, 6000)
    assert refusal.value.field == "focal_mm"
    with pytest.raises(BadValue):
        optics.hyperfocal_mm(600, bad, 0.03)
    with pytest.raises(BadValue):
        optics.exposure_value(8, bad)


def test_the_aperture_of_a_zoom_is_linear_in_the_logarithm():
    assert optics.aperture_at(200, 200, 600, (5.0, 6.3)) == 5.0
    assert optics.aperture_at(600, 200, 600, (5.0, 6.3)) == pytest.approx(6.3)
    assert optics.aperture_at(math.sqrt(200 * 600), 200, 600, (5.0, 6.3)) == pytest.approx(math.sqrt(5.0 * 6.3))


def test_autofocus_has_a_sixth_of_a_stop_in_hand():
    assert optics.autofocus_works(8.0, 8.0)
    assert optics.autofocus_works(8.4, 8.0)
    assert not optics.autofocus_works(9.0, 8.0)
    assert optics.autofocus_works(22.0, None)
