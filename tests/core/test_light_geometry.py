"""Light angle, classes, the hide's own shadow, the frame: against published and independently computed values."""

import csv
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from trips.core.horizons import horizon_from_text
from trips.core.light import Framing, frame_offsets_deg, light_angle_deg, session_light
from trips.core.light.geometry import in_own_shadow, sun_in_frame
from trips.core.sun import SunTrack
from trips.core.values import Hide, Point, Session, View

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def sun_at(azimuth: float, altitude: float) -> SunTrack:
    return SunTrack(np.zeros(1), np.array([azimuth]), np.array([altitude]), np.array([altitude]))


def hide_of(roof: float, width: float, view: View, point: Point | None = None) -> Hide:
    point = point or Point(39.5, -6.2, 0.0, "Europe/Madrid")
    return Hide("h", "Hide", point, (view,), (), roof_height_m=roof, width_m=width)


def test_the_sun_in_the_frame_agrees_with_the_table() -> None:
    rows = table("geometry_frame.csv")
    assert len(rows) == 4
    for row in rows:
        bearing, aim = float(row["lens_bearing"]), float(row["lens_elev"])
        azimuth, altitude = float(row["sun_az"]), float(row["sun_el"])
        framing = Framing(float(row["focal_mm(36x24)"]), aim_deg=aim)
        assert framing.width_deg == pytest.approx(float(row["hfov_deg"]), abs=0.0002)
        assert framing.height_deg == pytest.approx(float(row["vfov_deg"]), abs=0.0002)
        right, up = frame_offsets_deg(azimuth, altitude, bearing, aim)
        assert float(right) == pytest.approx(float(row["frame_x_deg"]), abs=0.0002)
        assert float(up) == pytest.approx(float(row["frame_y_deg"]), abs=0.0002)
        sun = sun_at(azimuth, altitude)
        seen = sun_in_frame(sun, light_angle_deg(sun.azimuth_deg, bearing), bearing, framing)
        assert bool(seen[0]) == (row["sun_in_frame"] == "True")


def test_a_sun_just_beside_the_frame_counts_while_its_disc_touches() -> None:
    framing = Framing(600.0)
    for beside, expected in ((framing.width_deg / 2 + 0.2, True), (framing.width_deg / 2 + 0.3, False)):
        sun = sun_at(95.0 + beside, 0.5)
        assert bool(sun_in_frame(sun, light_angle_deg(sun.azimuth_deg, 95.0), 95.0, framing)[0]) == expected


def test_the_hides_own_shadow_agrees_with_the_table() -> None:
    rows = table("geometry_hide_shadow.csv")
    assert len(rows) == 5
    for row in rows:
        bearing, distance = float(row["lens_bearing"]), float(row["distance_m"])
        view = View("v", "view", bearing, distance, distance)
        hide = hide_of(float(row["hide_height_m"]), float(row["hide_width_m"]), view)
        sun = sun_at(float(row["sun_az"]), float(row["sun_el"]))
        off = light_angle_deg(sun.azimuth_deg, bearing)
        shaded = in_own_shadow(sun, off, hide, distance, float(row["perch_height_m"]))
        assert bool(shaded[0]) == (row["perch_in_hide_shadow"] == "True"), row
        beside = np.degrees(np.arctan(hide.width_m / (2 * distance)))
        assert beside == pytest.approx(float(row["half_width_angle_deg"]), abs=0.0001)


def test_a_hide_without_a_measured_roof_casts_no_shadow() -> None:
    view = View("v", "view", 250.0, 6.0, 6.0)
    hide = Hide("h", "Hide", Point(39.5, -6.2, 0.0, "Europe/Madrid"), (view,), ())
    sun = sun_at(70.0, 0.5)
    assert not in_own_shadow(sun, light_angle_deg(sun.azimuth_deg, 250.0), hide, 6.0, 0.0)[0]


def clock(day: str, text: str, zone: str) -> datetime:
    return datetime.fromisoformat(f"{day}T{text}").replace(tzinfo=ZoneInfo(zone))


def test_lit_intervals_of_a_perch_agree_with_the_table_to_five_seconds() -> None:
    rows = table("geometry_perch_lit.csv")
    assert len(rows) == 4
    for row in rows:
        point = Point(float(row["lat"]), float(row["lon"]), 0.0, row["tz"])
        distance = float(row["dist"])
        view = View(
            "v",
            "window",
            float(row["lens_bearing"]),
            distance,
            distance,
            perch_height_m=float(row["perch_h"]),
            horizon=horizon_from_text(row["mask"]),
        )
        starts = clock(row["date"], row["start_local"], row["tz"])
        ends = clock(row["date"], row["end_local"], row["tz"])
        hide = hide_of(float(row["hide_h"]), float(row["hide_w"]), view, point)
        lit = session_light(hide, Session("s", "s", starts, ends)).views[0].lit
        expected = [part.split("/") for part in row["lit_intervals_own"].split()]
        assert len(lit) == len(expected), row["case"]
        for interval, (first, last) in zip(lit, expected, strict=True):
            for found, text in ((interval.starts_at, first), (interval.ends_at, last)):
                moment = datetime.strptime(f"{row['date']}T{text}", "%Y-%m-%dT%H:%M:%S%z")
                assert abs((found - moment).total_seconds()) < 5.0, (row["case"], found, text)
        minutes = sum((interval.ends_at - interval.starts_at).total_seconds() for interval in lit) / 60.0
        assert minutes == pytest.approx(float(row["lit_minutes"]), abs=0.15)
