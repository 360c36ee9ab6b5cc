"""Heat in a hide: the published index, its tiers, water and a later start."""

import csv
import re
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue
from trips.core import heat
from trips.core.values import Hide, HourForecast, Point, Session

DATA = Path(__file__).parent / "data"
ZONE = ZoneInfo("Europe/Madrid")
POINT = Point(39.5, -6.2, 320.0, "Europe/Madrid")
HOT = ((16, 40.0), (17, 40.0), (18, 39.0), (19, 37.5), (20, 35.5))


def hide(**changes: object) -> Hide:
    values: dict[str, object] = {"key": "a", "name": "Alder", "point": POINT, "views": (), "seats": (), "sunken": True}
    return Hide(**(values | changes))  # type: ignore[arg-type]


def session(hours: tuple[tuple[int, float], ...] = HOT, humidity_pct: float = 30.0, **changes: object) -> Session:
    forecast = tuple(
        HourForecast(datetime(2027, 7, 8, hour, tzinfo=ZONE), air_c, humidity_pct) for hour, air_c in hours
    )
    values: dict[str, object] = {
        "key": "late",
        "name": "late",
        "starts_at": datetime(2027, 7, 8, 17, 30, tzinfo=ZONE),
        "ends_at": datetime(2027, 7, 8, 21, 30, tzinfo=ZONE),
        "kind": "late",
        "forecast": forecast,
    }
    return Session(**(values | changes))  # type: ignore[arg-type]


def test_the_index_agrees_with_the_weather_service() -> None:
    with (DATA / "heat_index.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert len(rows) == 15
    for row in rows:
        chart = "chart" in row["source"]
        found = heat.heat_index_f(float(row["T_F"]), float(row["RH_pct"]))
        # the chart is rounded to whole degrees; the computed rows are not
        assert found == pytest.approx(float(row["expected_F"]), abs=0.6 if chart else 0.01), row


def test_tiers_begin_at_their_published_marks() -> None:
    with (DATA / "heat_guidance.csv").open(encoding="utf-8", newline="") as lines:
        guidance = {row["item"]: row["value"] for row in csv.DictReader(lines)}
    for name, tier in (
        ("NWS caution", "caution"),
        ("NWS extreme caution", "extreme_caution"),
        ("NWS danger", "danger"),
        ("NWS extreme danger", "extreme_danger"),
    ):
        mark = float(re.match(r"\d+", guidance[name])[0])  # type: ignore[index]
        assert heat.tier_of(mark) == tier
        assert heat.tier_of(mark - 0.1) != tier
    assert heat.tier_of(79.9) == "none"
    for effort in ("light", "moderate", "heavy"):
        entry = guidance[f"NIOSH work/rest {effort} work"]
        normal = int(re.search(r"up to (\d+)", entry)[1])  # type: ignore[index]
        assert heat.work_rest_min(normal, effort) == (60, 0)
        steps = re.findall(r"(\d+):(\d+)/(\d+)", entry)
        assert len(steps) >= 5
        for mark_f, work, rest in steps:
            assert heat.work_rest_min(float(mark_f), effort) == (int(work), int(rest))
        stop = int(re.search(r"(\d+)\+: caution", entry)[1])  # type: ignore[index]
        assert heat.work_rest_min(stop, effort) == (0, 60)
    assert str(heat.OSHA_WATER_L) in guidance["OSHA water"]
    assert str(heat.OSHA_CEILING_L_PER_H) in guidance["OSHA water ceiling"]


def test_a_hot_late_session_starts_when_the_hide_is_at_the_limit() -> None:
    found = heat.session_heat(hide(), session(heat_limit_c=37.0))
    assert found.above_limit
    assert f"{found.starts_at:%H:%M}-{found.ends_at:%H:%M}" == "19:30-21:30"
    assert found.water_l == pytest.approx(1.5)
    assert found.bottles == 2
    assert found.assumed == ("excess_c",)


def test_a_measured_excess_moves_the_start_further() -> None:
    found = heat.session_heat(hide(excess_c=1.0), session(heat_limit_c=37.0))
    assert f"{found.starts_at:%H:%M}" == "20:00"
    assert found.assumed == ()
    assert found.worst_hide_c == pytest.approx(40.5)


@pytest.mark.parametrize(
    ("air_c", "hpa"), [(0.0, 6.112), (10.0, 12.28), (20.0, 23.39), (30.0, 42.46), (40.0, 73.85), (50.0, 123.5)]
)
def test_the_vapour_pressure_is_that_of_the_steam_tables(air_c: float, hpa: float) -> None:
    """CRC Handbook, vapour pressure of water (IAPWS); values from memory. The formula is stated to 0.4 per cent."""
    assert heat.saturation_hpa(air_c) == pytest.approx(hpa, rel=0.004)


def test_a_hotter_hide_holds_the_same_vapour_and_not_the_same_relative_humidity() -> None:
    """32.75 C at 32 % outside is 37.75 C at 24 % inside: 99.2 F; 32 % there would be 103.4 F, danger."""
    found = heat.session_heat(hide(excess_c=5.0), session(((17, 32.75), (22, 32.75)), humidity_pct=32.0))
    assert found.moments[0].index_c == pytest.approx((99.2 - 32.0) / 1.8, abs=0.06)
    assert found.tier == "extreme_caution"
    assert heat.humidity_at(32.75, 32.0, 37.75) == pytest.approx(24.3, abs=0.1)
    assert heat.heat_index_f(37.75 * 1.8 + 32.0, 32.0) == pytest.approx(103.4, abs=0.1)
    assert heat.humidity_at(20.0, 90.0, 10.0) == 100.0


@pytest.mark.parametrize(("air_c", "litres", "bottles"), [(11.0, 1.0, 1), (29.0, 2.0, 2), (36.0, 3.0, 3)])
def test_four_hours_ask_for_more_water_the_hotter_it_feels(air_c: float, litres: float, bottles: int) -> None:
    found = heat.session_heat(hide(), session(((17, air_c), (22, air_c))))
    assert (found.water_l, found.bottles) == (litres, bottles)


def test_the_cool_end_of_a_session_asks_for_less_and_quarters_are_rounded_up() -> None:
    assert heat.session_heat(hide(), session(((17, 36.0), (19, 36.0), (20, 20.0), (22, 20.0)))).water_l == 2.25
    short = session((), ends_at=datetime(2027, 7, 8, 18, 40, tzinfo=ZONE))
    assert heat.session_heat(hide(), short).water_l == 1.0  # 70 minutes of 0.75 l/h


@pytest.mark.parametrize("changes", [{"fan": True}, {"sunken": False}])
def test_a_hide_that_does_not_keep_the_heat_keeps_its_start(changes: dict[str, object]) -> None:
    found = heat.session_heat(hide(**changes), session(heat_limit_c=37.0))
    assert not found.above_limit
    assert found.starts_at == session().starts_at
    assert found.bottles == 3


def test_air_exactly_at_the_limit_is_not_above_it() -> None:
    found = heat.session_heat(hide(), session(((17, 37.0), (22, 37.0)), heat_limit_c=37.0))
    assert not found.above_limit


def test_a_morning_that_grows_hot_ends_earlier() -> None:
    morning = session(
        ((8, 30.0), (12, 40.0)),
        starts_at=datetime(2027, 7, 8, 8, 0, tzinfo=ZONE),
        ends_at=datetime(2027, 7, 8, 12, 0, tzinfo=ZONE),
        heat_limit_c=37.0,
    )
    found = heat.session_heat(hide(), morning)
    assert f"{found.starts_at:%H:%M}-{found.ends_at:%H:%M}" == "08:00-10:30"


def test_no_half_hour_below_the_limit_leaves_no_stretch() -> None:
    found = heat.session_heat(hide(), session(((17, 41.0), (22, 41.0)), heat_limit_c=37.0))
    assert (found.starts_at, found.ends_at, found.bottles) == (None, None, 0)


def test_without_a_forecast_nothing_is_claimed() -> None:
    found = heat.session_heat(hide(), session((), heat_limit_c=30.0))
    assert (found.above_limit, found.tier, found.worst_hide_c, found.covered) == (False, "unknown", None, False)
    assert found.bottles == 3


def test_beyond_the_forecast_its_last_value_is_held_and_said() -> None:
    found = heat.session_heat(hide(), session(heat_limit_c=37.0))
    assert not found.covered
    assert found.moments[-1].air_c == 35.5
    assert heat.session_heat(hide(), session((*HOT, (22, 33.0)))).covered


def test_the_trip_limit_counts_where_the_session_has_none() -> None:
    assert heat.session_heat(hide(), session(), 37.0).above_limit
    assert not heat.session_heat(hide(), session(heat_limit_c=42.0), 37.0).above_limit


def test_a_night_across_the_clock_change_counts_real_hours() -> None:
    """From 00:30 to 06:30 on the night the clocks go back are seven hours."""
    night = session(
        (), starts_at=datetime(2027, 10, 31, 0, 30, tzinfo=ZONE), ends_at=datetime(2027, 10, 31, 6, 30, tzinfo=ZONE)
    )
    assert heat.session_heat(hide(), night).water_l == 5.25


@given(st.floats(20.0, 45.0), st.floats(20.0, 45.0), st.floats(25.0, 42.0))
@settings(max_examples=60)
def test_a_proposed_stretch_keeps_to_the_limit_and_inside_the_session(first: float, last: float, limit: float) -> None:
    late = session(((17, first), (22, last)), heat_limit_c=limit)
    found = heat.session_heat(hide(), late)
    if found.starts_at is None or found.ends_at is None:
        return
    assert late.starts_at <= found.starts_at < found.ends_at <= late.ends_at
    assert (found.starts_at - late.starts_at) % timedelta(minutes=30) == timedelta(0)
    for moment in found.moments:
        if found.starts_at <= moment.moment <= found.ends_at:
            assert moment.hide_c <= limit + 1e-9


def test_humidity_beyond_a_hundred_is_refused() -> None:
    with pytest.raises(BadValue):
        heat.heat_index_f(90.0, 101.0)
