"""Compass bearings and the World Magnetic Model."""

import csv
from datetime import date
from pathlib import Path

import pytest

from participants.core.errors import BadValue, OutsideValidity
from trips.core import magnetism

DATA = Path(__file__).parent / "data"


def test_declination_agrees_with_the_models_own_test_values() -> None:
    with (DATA / "magnetic_model.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert len(rows) == 9
    for row in rows:
        found = magnetism.declination(
            float(row["latitude_deg"]),
            float(row["longitude_deg"]),
            float(row["height_km"]) * 1000.0,
            date.fromisoformat(row["day"]),
        )
        assert found.declination_deg == pytest.approx(float(row["declination_deg"]), abs=0.006), row
        assert found.model == row["model"]


def test_a_bearing_goes_to_true_and_back() -> None:
    assert magnetism.true_bearing_deg(250.0, -1.5) == pytest.approx(248.5)
    assert magnetism.true_bearing_deg(1.0, -3.0) == pytest.approx(358.0)
    assert magnetism.magnetic_bearing_deg(358.0, -3.0) == pytest.approx(1.0)
    with pytest.raises(BadValue):
        magnetism.true_bearing_deg(400.0, 0.0)


@pytest.mark.parametrize("day", [date(2014, 12, 31), date(2030, 1, 1)])
def test_days_outside_the_models_are_refused_with_their_dates(day: date) -> None:
    with pytest.raises(OutsideValidity) as refused:
        magnetism.declination(39.5, -6.2, 320.0, day)
    assert (refused.value.low, refused.value.high) == (date(2015, 1, 1), date(2029, 12, 31))


def test_the_model_of_the_day_is_used_with_its_dates() -> None:
    found = magnetism.declination(39.5, -6.2, 320.0, date(2027, 5, 8))
    assert (found.valid_from, found.valid_to, found.compass) == (date(2025, 1, 1), date(2029, 12, 31), "good")
    assert 0.2 < found.uncertainty_deg < 0.6
    assert magnetism.declination(39.5, -6.2, 320.0, date(2022, 5, 8)).model == "WMM-2020"


def test_a_compass_near_the_magnetic_pole_is_called_useless() -> None:
    assert magnetism.declination(86.0, 140.0, 0.0, date(2027, 1, 1)).compass == "useless"
    assert magnetism.declination(75.0, 100.0, 0.0, date(2027, 1, 1)).compass == "poor"
