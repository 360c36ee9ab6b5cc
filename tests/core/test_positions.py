"""Positions as people write them, and the question whether a sign was lost."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadShape, BadValue
from trips.core import positions
from trips.core.positions import place_from_text, position_doubts, waypoints_from_gpx
from trips.core.values import Point
from trips.selectors.site import zone_places

DAY = date(2027, 5, 8)
SITE = Point(39.5, -6.2, 320.0, "Europe/Madrid")


@pytest.mark.parametrize(
    "text",
    [
        "39.5, -6.2",
        "39.5 -6.2",
        "39.5,\u22126.2",
        "39,5; -6,2",
        "39.5 N, 6.2 W",
        "6.2 W 39.5 N",
        "N39.5 W6.2",
        "39\u00b030\u203200\u2033 N, 6\u00b012\u203200\u2033 W",
        "39 30 0 N 6 12 0 W",
        "39d30m N 6d12m W",
        "N 39 30 W 6 12",
        "+39 30, -6 12",
        "39:30:00 -6:12:00",
        "geo:39.5,-6.2",
        "GEO:39.5,-6.2,320;crs=wgs84;u=35",
    ],
)
def test_a_position_is_read_in_any_usual_form(text: str) -> None:
    found = place_from_text(text)
    assert (found.latitude_deg, found.longitude_deg) == (pytest.approx(39.5), pytest.approx(-6.2))


def test_south_and_a_small_negative_angle_keep_their_sign() -> None:
    assert place_from_text("0 30 0 S 0 12 0 W").latitude_deg == pytest.approx(-0.5)
    found = place_from_text("-0 30, -0 12")
    assert (found.latitude_deg, found.longitude_deg) == (pytest.approx(-0.5), pytest.approx(-0.2))
    assert place_from_text("geo:1.5,2.5,12.5").elevation_m == 12.5


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("", BadShape),
        ("the old mill", BadShape),
        ("39.5", BadShape),
        ("39 60 0 N 6 12 0 W", BadShape),
        ("39.5 N 6.2 N", BadShape),
        ("-39.5 N 6.2 W", BadShape),
        ("39.5 N 6.2", BadShape),
        ("1 2 3 4 5", BadShape),
        ("geo:39.5", BadShape),
        ("geo:39.5,-6.2;crs=Moon-2011", BadShape),
        ("90.5, 0", BadValue),
        ("0, 180.5", BadValue),
        ("geo:91,0", BadValue),
    ],
)
def test_what_is_no_position_is_refused(text: str, kind: type[Exception]) -> None:
    with pytest.raises(kind):
        place_from_text(text)


@given(st.floats(-90, 90), st.floats(-180, 180))
@settings(max_examples=60)
def test_a_printed_position_is_read_back(latitude: float, longitude: float) -> None:
    found = place_from_text(f"geo:{latitude:.7f},{longitude:.7f}")
    assert found.latitude_deg == pytest.approx(latitude, abs=1e-7)
    assert found.longitude_deg == pytest.approx(longitude, abs=1e-7)


GPX = b"""<?xml version="1.0"?><gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="test">
<wpt lat="39.51" lon="-6.21"><ele>331</ele><name>Alder &amp; pool</name></wpt><wpt lat="39.52" lon="-6.22"/></gpx>"""


def test_waypoints_are_offered_by_name() -> None:
    first, second = waypoints_from_gpx(GPX)
    assert first == positions.TypedPosition(39.51, -6.21, 331.0, "Alder & pool")
    assert second.name == "2"


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"not xml at all", "not_gpx"),
        (b"", "not_gpx"),
        (b"\xff\xfe\x00\x01", "not_gpx"),
        (b"<html><body/></html>", "not_gpx"),
        (b'<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1"/>', "no_waypoints"),
        (b'<gpx version="1.1">' + 2001 * b'<wpt lat="39.5" lon="-6.2"/>' + b"</gpx>", "too_many"),
        (
            b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
            b'<gpx version="1.1"><wpt lat="1" lon="1"><name>&b;</name></wpt></gpx>',
            "entities",
        ),
        (
            b'<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
            b'<gpx><wpt lat="1" lon="1"><name>&x;</name></wpt></gpx>',
            "entities",
        ),
        (b"<gpx>" + b" " * positions.MOST_GPX_BYTES, "too_large"),
        (b'<gpx version="1.1"><wpt lat="north" lon="1"/></gpx>', "not_gpx"),
    ],
)
def test_a_file_that_is_no_gpx_or_a_trap_is_refused(content: bytes, reason: str) -> None:
    with pytest.raises(BadShape) as refused:
        waypoints_from_gpx(content)
    assert refused.value.reason == reason


def test_a_waypoint_off_the_earth_is_refused() -> None:
    with pytest.raises(BadValue):
        waypoints_from_gpx(b'<gpx version="1.1"><wpt lat="95" lon="1"/></gpx>')


def test_one_hide_with_a_lost_sign_is_far_from_the_lodge() -> None:
    [doubt] = position_doubts(Point(39.5, 6.2, 0.0, "Europe/Madrid"), DAY, zone_places(), lodge=SITE, drive_min=10.0)
    assert doubt.kind == "far_from_lodge"
    assert doubt.distance_km == pytest.approx(1060.0, abs=10.0)
    assert doubt.offers[0].turn == "longitude_sign"
    assert doubt.offers[0].distance_km == pytest.approx(0.0, abs=0.1)


def test_a_site_with_a_lost_sign_is_far_from_its_zone_though_noon_looks_normal() -> None:
    [doubt] = position_doubts(Point(39.5, 6.2, 0.0, "Europe/Madrid"), DAY, zone_places())
    assert doubt.kind == "far_from_zone"
    assert doubt.distance_km == pytest.approx(850.0, abs=10.0)
    assert doubt.offers[0].turn == "longitude_sign"
    assert doubt.offers[0].distance_km == pytest.approx(240.0, abs=10.0)
    assert f"{doubt.noon:%H:%M}" in ("13:31", "13:32")
    assert (f"{doubt.rise:%H:%M}", f"{doubt.set:%H:%M}") == ("06:28", "20:35")


def test_a_lost_sign_across_the_ocean_puts_noon_at_midnight() -> None:
    [doubt] = position_doubts(Point(-27.1, 109.4, 0.0, "Pacific/Easter"), DAY, zone_places())
    assert doubt.offers[0].turn == "longitude_sign"
    assert f"{doubt.noon:%H:%M}" in ("22:38", "22:39")
    assert (f"{doubt.rise:%H:%M}", f"{doubt.set:%H:%M}") == ("17:11", "04:06")


def test_swapped_numbers_are_offered_back() -> None:
    [doubt] = position_doubts(Point(-6.2, 39.5, 0.0, "Europe/Madrid"), DAY, zone_places())
    assert doubt.offers[0].turn == "swapped"
    assert (doubt.offers[0].latitude_deg, doubt.offers[0].longitude_deg) == (39.5, -6.2)
    assert doubt.distance_km == pytest.approx(6800.0, abs=20.0)
    assert f"{doubt.noon:%H:%M}" == "11:18"


@pytest.mark.parametrize(
    "point",
    [
        SITE,
        Point(41.5, 2.5, 0.0, "Europe/Madrid"),
        Point(39.5, 76.0, 0.0, "Asia/Shanghai"),
        Point(-36.85, 174.76, 0.0, "Pacific/Auckland"),
        Point(0.2, 37.0, 0.0, "Africa/Nairobi"),
        Point(78.2, 15.6, 0.0, "Arctic/Longyearbyen"),
        Point(-54.8, -68.3, 0.0, "America/Argentina/Ushuaia"),
    ],
)
def test_a_right_place_is_not_doubted(point: Point) -> None:
    assert position_doubts(point, DAY, zone_places()) == ()


def test_a_place_without_a_reference_is_doubted_by_its_noon() -> None:
    [doubt] = position_doubts(Point(10.0, 170.0, 0.0, "Etc/UTC"), DAY, zone_places())
    assert doubt.kind == "noon"


def test_a_hide_near_the_lodge_is_not_doubted() -> None:
    assert (
        position_doubts(Point(39.55, -6.25, 0.0, "Europe/Madrid"), DAY, zone_places(), lodge=SITE, drive_min=10.0) == ()
    )


def test_every_zone_of_the_tables_has_a_place_on_the_earth() -> None:
    places = zone_places()
    assert len(places) > 300
    assert all(abs(latitude) <= 90.0 and abs(longitude) <= 180.0 for latitude, longitude in places.values())
    assert places["Europe/Madrid"] == (pytest.approx(40.4), pytest.approx(-3.68333, abs=1e-4))
