"""Daylight against published illuminances and exposure tables."""

import csv
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue
from trips.core import daylight

DATA = Path(__file__).parent / "data"
ANGLE_OFF = {"front": 0.0, "any": 0.0, "side": 90.0, "back": 180.0}


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def rows(quantity: str) -> list[dict[str, str]]:
    found = [row for row in table("daylight.csv") if row["quantity"] == quantity]
    assert found
    return found


def test_clear_illuminance_agrees_with_the_circular() -> None:
    high, low = rows("JD_illuminance")
    assert daylight.level_illuminance_lx(90.0) == pytest.approx(float(high["expected"]), rel=0.0005)
    assert daylight.level_illuminance_lx(0.0) == pytest.approx(float(low["expected"]), rel=0.10)


def test_illuminance_at_sunset_and_at_the_end_of_civil_twilight() -> None:
    [sunset] = rows("sunset_illuminance")
    low, high = (float(part) for part in sunset["expected"].split(".."))
    assert low <= daylight.level_illuminance_lx(-0.833) <= high
    between, single = rows("civil_end_illuminance")
    low, high = (float(part) for part in between["expected"].split(".."))
    assert low <= daylight.level_illuminance_lx(-6.0) <= high
    assert daylight.level_illuminance_lx(-6.0) == pytest.approx(float(single["expected"]), rel=0.20)


def test_deep_twilight_falls_below_the_published_value_that_includes_starlight() -> None:
    """The formula leaves out starlight and airglow, so it may not exceed the measured values of the dark sky."""
    for name, altitude in (("nautical_end_illuminance", -12.0), ("astro_end_illuminance", -18.0)):
        [row] = rows(name)
        assert 0.0 < daylight.level_illuminance_lx(altitude) <= float(row["expected"]) * 1.5


def test_air_mass_agrees_with_kasten_and_young() -> None:
    for row in rows("airmass"):
        altitude = float(row["input"].split()[0])
        assert daylight.relative_air_mass(altitude) == pytest.approx(float(row["expected"]), rel=0.01)


@pytest.mark.parametrize("sky", ["partly", "overcast"])
def test_the_light_of_a_cloudy_sky_agrees_with_ies(sky: str) -> None:
    """The two clear rows are the society's own sum, which is not used here."""
    for row in rows(f"sky_horizontal {sky}"):
        altitude = float(row["input"].split()[0])
        assert daylight.light_parts_lx(altitude, sky, 1.0)[1] == pytest.approx(float(row["expected"]), rel=0.02)


def test_exposure_values_agree_with_published_tables_within_a_stop() -> None:
    checked = 0
    for row in table("ev_published.csv"):
        if row["note"]:
            continue
        shade = row["sky"] == "open shade"
        sky = "clear" if shade else row["sky"]
        found = daylight.ev100(float(row["sun_alt_deg"]), ANGLE_OFF[row["light"]], sky, shade=shade)
        assert found == pytest.approx(float(row["published_EV100"]), abs=1.0), row
        checked += 1
    assert checked == 20


def test_the_two_rows_with_a_reason_miss_by_what_the_reason_says() -> None:
    assert daylight.ev100(60.0, 180.0, "clear") == pytest.approx(14.1, abs=0.1)
    assert daylight.ev100(15.0, 0.0, "overcast") == pytest.approx(11.0, abs=0.15)


@pytest.mark.parametrize("sky", ["clear", "partly", "overcast"])
@pytest.mark.parametrize("shade", [False, True])
def test_light_never_grows_while_the_sun_sinks_below_the_horizon(sky: str, shade: bool) -> None:
    values = [daylight.ev100(altitude, 0.0, sky, shade=shade) for altitude in np.arange(0.0, -18.5, -0.5)]
    assert all(before >= after for before, after in pairwise(values))
    assert values[0] - values[-1] > 15.0


@given(st.floats(-18.0, 90.0), st.floats(0.0, 180.0), st.sampled_from(["clear", "partly", "overcast"]))
@settings(max_examples=80)
def test_shade_is_never_brighter_than_sun(altitude: float, off: float, sky: str) -> None:
    lit, shade = (daylight.ev100(altitude, off, sky, shade=flag) for flag in (False, True))
    assert np.isfinite(lit)
    assert shade <= lit


def test_nonsense_is_refused() -> None:
    with pytest.raises(BadValue):
        daylight.ev100(10.0, 0.0, "snow")
