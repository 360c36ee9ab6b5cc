"""Angles on the horizon."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue
from trips.core import angles


@pytest.mark.parametrize(
    ("angle", "start", "expected"),
    [(10, 350, 20), (350, 10, -20), (180, 0, 180), (0, 180, 180), (725, 5, 0), (-90, 270, 0), (0, 0, 0)],
)
def test_a_difference_takes_the_short_way_round(angle: float, start: float, expected: float) -> None:
    assert float(angles.signed_difference_deg(angle, start)) == pytest.approx(expected)
    assert float(angles.difference_deg(angle, start)) == pytest.approx(abs(expected))


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
@settings(max_examples=60)
def test_a_difference_leads_from_one_angle_to_the_other(angle: float, start: float) -> None:
    turned = float(angles.signed_difference_deg(angle, start))
    assert -180.0 < turned <= 180.0
    assert np.cos(np.radians(start + turned)) == pytest.approx(np.cos(np.radians(angle)), abs=1e-9)


@given(st.floats(-1e6, 1e6))
@settings(max_examples=60)
def test_a_wrapped_angle_is_below_a_full_turn(angle: float) -> None:
    assert 0.0 <= float(angles.wrapped_deg(angle)) < 360.0


def test_separation_holds_at_the_pole_and_for_opposite_directions() -> None:
    assert angles.separation_deg(0.0, 90.0, 123.0, 90.0) == pytest.approx(0.0, abs=1e-9)
    assert angles.separation_deg(10.0, 20.0, 190.0, -20.0) == pytest.approx(180.0)
    assert angles.separation_deg(0.0, 0.0, 1e-7, 0.0) == pytest.approx(1e-7, rel=1e-6)


def test_a_bearing_of_400_is_refused_with_its_bounds() -> None:
    with pytest.raises(BadValue) as refused:
        angles.required_bearing_deg(400.0)
    assert refused.value.data == {"field": "bearing_deg", "value": 400.0, "low": 0.0, "high": 360.0, "unit": "deg"}
    assert angles.required_bearing_deg(360.0) == 0.0
    with pytest.raises(BadValue):
        angles.required_bearing_deg(float("nan"))
