"""The sun's place and the moments at which it passes a height, against published and independent values."""

import csv
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import ephem
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue, OutsideValidity
from trips.core import sun
from trips.core.angles import difference_deg

DATA = Path(__file__).parent / "data"
MADRID = "Europe/Madrid"
DAY = date(2027, 5, 8)


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def published(case: str) -> dict[str, float]:
    return {row["quantity"]: float(row["expected"]) for row in table("sun_positions.csv") if row["case"] == case}


@pytest.mark.parametrize(("case", "day"), [("NREL_SPA_20031017", 17), ("NREL_SPA_20031018", 18)])
def test_positions_agree_with_the_solar_position_algorithm(case: str, day: int) -> None:
    moment = datetime(2003, 10, day, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))
    [(azimuth, altitude)] = sun.position(39.742476, -105.1786, 1830.14, [moment])
    expected = published(case)
    assert azimuth == pytest.approx(expected["azimuth"], abs=0.01)
    assert 90.0 - altitude == pytest.approx(expected["zenith_apparent"], abs=0.01)
    if "elevation_airless" in expected:
        geometric = sun.track(39.742476, -105.1786, np.array([moment.timestamp()])).geometric_deg[0]
        assert geometric == pytest.approx(expected["elevation_airless"], abs=0.01)


@pytest.mark.parametrize(
    ("case", "tolerance_deg"), [("Meeus25a_19921013_0hTD", 0.005), ("Meeus25b_19921013_0hTD", 0.0005)]
)
def test_the_apparent_place_agrees_with_meeus(case: str, tolerance_deg: float) -> None:
    delta_t_s = 58.7  # dynamical time less universal time in October 1992
    stamp = datetime(1992, 10, 13, tzinfo=UTC).timestamp() - delta_t_s
    ascension, declination, distance = (float(found[0]) for found in sun.apparent_place(np.array([stamp])))
    expected = published(case)
    assert ascension == pytest.approx(expected["ra"], abs=tolerance_deg)
    assert declination == pytest.approx(expected["dec"], abs=tolerance_deg)
    if "R_au" in expected:
        assert distance == pytest.approx(expected["R_au"], abs=0.0001)
    tilt = np.radians(23.43999)  # of that day, Meeus example 25.b
    right, high = np.radians(ascension), np.radians(declination)
    longitude = np.degrees(np.arctan2(np.sin(right) * np.cos(tilt) + np.tan(high) * np.sin(tilt), np.cos(right)))
    assert longitude % 360.0 == pytest.approx(expected["app_lon"], abs=tolerance_deg)


@given(
    st.floats(-89.0, 89.0),
    st.floats(-180.0, 180.0),
    st.datetimes(datetime(1905, 1, 1), datetime(2099, 12, 31), timezones=st.just(UTC)),
)
@settings(max_examples=80)
def test_the_shared_path_is_the_one_ephem_gives_moment_by_moment(
    latitude: float, longitude: float, moment: datetime
) -> None:
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.pressure = str(latitude), str(longitude), 0
    observer.date = ephem.Date(moment.replace(tzinfo=None))
    body = ephem.Sun(observer)
    found = sun.track(latitude, longitude, np.array([moment.timestamp()]))
    assert found.geometric_deg[0] == pytest.approx(np.degrees(body.alt), abs=0.0002)
    across = float(difference_deg(found.azimuth_deg[0], np.degrees(body.az))) * np.cos(body.alt)
    assert across < 0.0002


def test_the_base_day_agrees_with_its_table() -> None:
    zone = ZoneInfo(MADRID)
    for row in table("sun_day_base.csv"):
        hour, minute = (int(part) for part in row["time_local"].split(":"))
        [(azimuth, altitude)] = sun.position(39.5, -6.2, 0.0, [datetime(2027, 5, 8, hour, minute, tzinfo=zone)])
        assert azimuth == pytest.approx(float(row["azimuth_deg"]), abs=0.06), row
        assert altitude == pytest.approx(float(row["altitude_deg"]), abs=0.06), row
        assert (altitude < -0.833) == (row["geometric"] == "1")


def test_events_of_a_local_day_agree_with_jpl() -> None:
    days = {}
    for row in table("sun_events_local.csv"):
        key = (float(row["lat"]), float(row["lon"]), date.fromisoformat(row["date_local"]), row["tz"])
        days.setdefault(key, []).append(row)
    assert len(days) > 15
    for (latitude, longitude, day, zone), rows in days.items():
        events = sun.day_events(latitude, longitude, day, zone)
        assert [event.moment for event in events] == sorted(event.moment for event in events)
        for row in rows:
            limit, rising = (
                -0.833 if row["limit_deg"] == "-0.8333" else float(row["limit_deg"]),
                row["direction"] == "up",
            )
            mine = [event.moment for event in events if event.limit_deg == limit and event.rising == rising]
            if row["time_local"].startswith("none"):
                assert mine == []
                kept = sun.stays(latitude, longitude, day, zone, limit)
                assert kept == ("up" if "above" in row["time_local"] else "down")
            else:
                expected = datetime.strptime(row["time_local"], "%Y-%m-%dT%H:%M:%S%z")
                assert min(abs((moment - expected).total_seconds()) for moment in mine) < 10.0, row
                assert all(moment.date() == day for moment in mine)
                assert mine[0].utcoffset() == expected.utcoffset()


def test_events_agree_with_the_naval_observatory() -> None:
    checked = 0
    for row in table("sun_events_usno.csv"):
        latitude, longitude, day = float(row["lat"]), float(row["lon"]), date.fromisoformat(row["date_utc"])
        limit = -0.833 if row["event_set"] == "sunrise" else -6.0
        events = [event for event in sun.day_events(latitude, longitude, day, "UTC") if event.limit_deg == limit]
        kept = sun.stays(latitude, longitude, day, "UTC", limit)
        if row["type"] == "ALL_DAY":
            assert kept == "up"
            assert events == []
            continue
        assert kept is None
        for name, rising in (("rise_utc", True), ("set_utc", False)):
            hour, minute = (int(part) for part in row[name].split(":"))
            expected = datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)
            off_s = min(abs((event.moment - expected).total_seconds()) for event in events if event.rising == rising)
            assert off_s <= 45.0, row
            checked += 1
    assert checked > 250


@pytest.mark.parametrize("server_zone", ["UTC", "Pacific/Kiritimati", "America/Adak"])
def test_sunset_is_that_of_the_local_day_wherever_it_is_asked(
    server_zone: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", server_zone)
    for latitude, longitude, zone, expected in (
        (39.5, -6.2, MADRID, "21:25"),
        (-27.10, -109.40, "Pacific/Easter", "18:41"),
    ):
        [sunset] = [
            event.moment
            for event in sun.day_events(latitude, longitude, DAY, zone)
            if event.limit_deg == -0.833 and not event.rising
        ]
        assert (sunset.date(), f"{sunset:%H:%M}") == (DAY, expected)


def test_a_polar_day_and_a_polar_night_are_said_not_raised() -> None:
    place = (68.40, 17.40)
    assert sun.stays(*place, date(2027, 6, 5), "Europe/Oslo", -0.833) == "up"
    assert sun.stays(*place, date(2027, 1, 5), "Europe/Oslo", -0.833) == "down"
    civil = [e for e in sun.day_events(*place, date(2027, 1, 5), "Europe/Oslo") if e.limit_deg == -6.0]
    assert [f"{event.moment + timedelta(seconds=30):%H:%M}" for event in civil] == ["09:08", "14:44"]
    assert sun.stays(-77.85, 166.67, date(2027, 12, 21), "Antarctica/McMurdo", -0.833) == "up"


def test_a_day_may_hold_two_sunsets_or_none() -> None:
    """After the polar day sunset moves from past midnight to before it: one day has two; in spring one has none."""

    def sunsets(first: date) -> list[int]:
        return [
            sum(
                1
                for event in sun.day_events(68.40, 17.40, first + timedelta(days=number), "Europe/Oslo")
                if event.limit_deg == -0.833 and not event.rising
            )
            for number in range(12)
        ]

    spring, summer = sunsets(date(2027, 5, 16)), sunsets(date(2027, 7, 16))
    assert spring == [1, 1, 1, 1, 1, 1, 0, 1, 1, 0, 0, 0]
    assert sorted(set(summer)) == [0, 1, 2]
    assert summer.count(2) == 1


def test_over_a_year_every_rise_is_followed_by_a_set() -> None:
    """Days of 23 and 25 hours neither lose nor repeat an event, in both hemispheres."""
    for latitude, longitude, zone in ((39.5, -6.2, MADRID), (-36.85, 174.76, "Pacific/Auckland"), (0.2, 32.0, "UTC")):
        flags, moments = [], []
        for number in range(365):
            for event in sun.day_events(latitude, longitude, date(2027, 1, 1) + timedelta(days=number), zone):
                if event.limit_deg == -0.833:
                    flags.append(event.rising)
                    moments.append(event.moment.timestamp())
        assert len(flags) == 730
        assert all(before != after for before, after in pairwise(flags))
        assert min(np.diff(moments)) > 8 * 3600


def test_clock_changes_make_days_of_23_and_25_hours() -> None:
    for day, hours in ((date(2027, 3, 28), 23), (date(2027, 10, 31), 25), (DAY, 24)):
        starts, ends = sun.day_bounds(day, MADRID)
        assert ends - starts == hours * 3600.0


def test_refraction_is_used_once() -> None:
    """At sunrise the geometric height is -0.83; a rise that used refraction twice would come three minutes early."""
    rise = next(e.moment for e in sun.day_events(39.5, -6.2, DAY, MADRID) if e.limit_deg == -0.833)
    assert f"{rise:%H:%M:%S}" == "07:18:10"
    geometric = sun.track(39.5, -6.2, np.array([rise.timestamp()])).geometric_deg[0]
    assert geometric == pytest.approx(-0.833, abs=0.001)


@pytest.mark.parametrize(
    ("clock", "low", "high"),
    [("07:50", 71.7, 72.1), ("10:00", 91.5, 92.1), ("14:12", 173.0, 175.5), ("19:00", 270.6, 271.6)],
)
def test_azimuth_counts_from_north_clockwise(clock: str, low: float, high: float) -> None:
    moment = datetime(2027, 5, 8, *(int(part) for part in clock.split(":")), tzinfo=ZoneInfo(MADRID))
    [(azimuth, _)] = sun.position(39.5, -6.2, 0.0, [moment])
    assert low <= azimuth <= high


def test_the_four_quarters_of_the_compass() -> None:
    """At an equinox on the equator the sun rises in the east and sets in the west; noon is north or south of there."""

    def azimuth_at(latitude: float, hour: int) -> float:
        return sun.position(latitude, 0.0, 0.0, [datetime(2027, 3, 20, hour, 7, tzinfo=UTC)])[0][0]

    assert azimuth_at(0.0, 6) == pytest.approx(90.0, abs=1.0)
    assert azimuth_at(0.0, 18) == pytest.approx(270.0, abs=1.0)
    assert azimuth_at(45.0, 12) == pytest.approx(180.0, abs=1.0)
    assert min(azimuth_at(-45.0, 12), 360.0 - azimuth_at(-45.0, 12)) < 1.0


def test_the_sun_stands_overhead_at_the_equator() -> None:
    noon = sun.solar_noon(0.0, 36.0, date(2027, 3, 20), "Africa/Nairobi")
    [(_, altitude)] = sun.position(0.0, 36.0, 1700.0, [noon])
    assert altitude > 89.5
    assert f"{noon:%H}" == "12"


@pytest.mark.parametrize(
    ("latitude", "longitude", "field"),
    [(90.1, 0.0, "latitude_deg"), (0.0, 361.0, "longitude_deg"), (float("nan"), 0.0, "latitude_deg")],
)
def test_a_place_off_the_earth_is_refused(latitude: float, longitude: float, field: str) -> None:
    with pytest.raises(BadValue) as refused:
        sun.position(latitude, longitude, 0.0, [datetime(2027, 5, 8, tzinfo=UTC)])
    assert refused.value.field == field


def test_zones_years_and_moments_without_a_zone_are_refused() -> None:
    for name in ("Europe/Nowhere", "", "../etc/passwd"):
        with pytest.raises(BadValue) as refused:
            sun.day_events(39.5, -6.2, DAY, name)
        assert refused.value.field == "time_zone"
    with pytest.raises(OutsideValidity):
        sun.day_events(39.5, -6.2, date(1850, 1, 1), "UTC")
    with pytest.raises(OutsideValidity):
        sun.position(39.5, -6.2, 0.0, [datetime(2500, 1, 1, tzinfo=UTC)])
    with pytest.raises(BadValue):
        sun.position(39.5, -6.2, 0.0, [datetime(2027, 5, 8)])


def test_no_moments_give_no_positions() -> None:
    assert sun.position(39.5, -6.2, 0.0, []) == []
