"""A place as people write it: decimal, degrees-minutes-seconds, a geo: address or a GPX file; and doubts about it."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import defusedxml.ElementTree as safe_xml
import gpxpy
import gpxpy.gpx
import numpy as np
from defusedxml.common import DefusedXmlException

from participants.core.errors import BadShape
from trips.core.angles import require_between, separation_deg
from trips.core.local_time import zone_of
from trips.core.sun import SUNRISE_DEG, day_events, solar_noon
from trips.core.values import Point

EARTH_RADIUS_KM = 6371.0088  # mean radius, IUGG
FAR_FROM_ZONE_KM = 700.0  # beyond it a lost sign is likelier than a remote site
NEAR_LODGE_KM, FASTEST_KM_H = 30.0, 100.0  # sites lie near their lodge, and no drive to a hide averages more
POLAR_DEG = 66.0  # beyond it a zone's noon says little about a place
MOST_GPX_BYTES = 5_000_000  # a file of waypoints has some kilobytes
MOST_WAYPOINTS = 2_000  # an estate has dozens; a hundred thousand would keep a page waiting for seconds
_TURNS = ("longitude_sign", "latitude_sign", "both_signs", "swapped", "swapped_longitude_sign")


@dataclass(frozen=True, slots=True)
class TypedPosition:
    """A typed position; `name` from a waypoint, elevation where the source has one."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Correction:
    """What would put a doubtful place right: `turn` says how, with the distance it would leave."""

    turn: str
    latitude_deg: float
    longitude_deg: float
    distance_km: float


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a position may be wrong.

    `kind`: "far_from_lodge" (reference the lodge), "far_from_zone" (reference the zone's place in the time-zone
    table) or "noon" (the sun would be highest at an odd hour). Times are those of `day` at the doubtful place.
    """

    kind: str
    distance_km: float
    noon: datetime
    rise: datetime | None
    set: datetime | None
    offers: tuple[Correction, ...]


def distance_km(
    latitude_deg: float, longitude_deg: float, other_latitude_deg: float, other_longitude_deg: float
) -> float:
    """Great-circle distance in km on the mean sphere (within 0.6 % of the ellipsoid)."""
    apart = separation_deg(longitude_deg, latitude_deg, other_longitude_deg, other_latitude_deg)
    return float(np.radians(apart)) * EARTH_RADIUS_KM


def place_from_text(text: str) -> TypedPosition:
    """A position from "39.5, -6.2", "39 30 0 N 6 12 0 W" (any usual signs), "39.5 N, 6.2 W" or "geo:39.5,-6.2".

    Raises BadShape (path "position", reason "not_a_position" or "reference_system") or BadValue (latitude, longitude).
    """
    cleaned = text.replace("\u2212", "-").replace("\ufeff", "").strip()
    if cleaned.lower().startswith("geo:"):
        return _geo_place(cleaned)
    plain = re.fullmatch(r"([-+]?\d+(?:\.\d*)?)\s*°?\s*[,;\s]\s*([-+]?\d+(?:\.\d*)?)\s*°?", cleaned) or re.fullmatch(
        r"([-+]?\d+,\d+)\s*°?\s*[;\s]\s*([-+]?\d+,\d+)\s*°?", cleaned
    )
    if plain:
        return _checked_place(_number(plain[1]), _number(plain[2]))
    return _sexagesimal_place(cleaned)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _checked_place(
    latitude_deg: float, longitude_deg: float, elevation_m: float | None = None, name: str = ""
) -> TypedPosition:
    require_between("latitude_deg", latitude_deg, -90.0, 90.0)
    require_between("longitude_deg", longitude_deg, -180.0, 180.0)
    return TypedPosition(latitude_deg, longitude_deg, elevation_m, name)


def _geo_place(text: str) -> TypedPosition:
    """RFC 5870: geo:latitude,longitude[,altitude][;crs=wgs84][;u=uncertainty]; another reference system is refused."""
    match = re.fullmatch(
        r"geo:(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)(?:,(-?\d+(?:\.\d+)?))?((?:;[^;]+)*)", text, re.IGNORECASE
    )
    if not match:
        raise BadShape(path="position", value=text[:80], reason="not_a_position")
    for parameter in filter(None, match[4].split(";")):
        name, _, value = parameter.partition("=")
        if name.lower() == "crs" and value.lower() != "wgs84":
            raise BadShape(path="position", value=value[:40], reason="reference_system")
    return _checked_place(float(match[1]), float(match[2]), float(match[3]) if match[3] else None)


_TOKEN = re.compile(r"[NSEW]|[-+]?\d+(?:[.,]\d+)?(?![.,]?\d)")
_BETWEEN = re.compile(r"[\s°º'′’\"″”:,;dms]*", re.IGNORECASE)


def _sexagesimal_place(text: str) -> TypedPosition:
    upper = text.upper()
    tokens = _TOKEN.findall(upper)
    if not _BETWEEN.fullmatch(_TOKEN.sub(" ", upper)):
        raise _not_a_position(text)
    letters = [token for token in tokens if token in "NSEW"]
    halves = _halves(tokens, letters)
    if halves is None or any(not 1 <= len(half) <= 3 for half in halves):
        raise _not_a_position(text)
    values = [_angle(half, text) for half in halves]
    if letters:
        if any(token[0] in "+-" for token in tokens):
            raise _not_a_position(text)
        values = [-value if letter in "SW" else value for value, letter in zip(values, letters, strict=True)]
        if letters[0] in "EW":
            values.reverse()
    return _checked_place(values[0], values[1])


def _halves(tokens: list[str], letters: list[str]) -> tuple[list[str], list[str]] | None:
    """The numbers of the first angle and of the second; None where letters or counts do not add up."""
    numbers = [token for token in tokens if token not in "NSEW"]
    if not letters:
        middle = len(numbers) // 2
        return (numbers[:middle], numbers[middle:]) if len(numbers) % 2 == 0 else None
    if len(letters) != 2 or (letters[0] in "NS") == (letters[1] in "NS"):
        return None
    places = [place for place, token in enumerate(tokens) if token in "NSEW"]
    if places[0] == 0:
        return tokens[1 : places[1]], tokens[places[1] + 1 :]
    return (tokens[: places[0]], tokens[places[0] + 1 : -1]) if places[1] == len(tokens) - 1 else None


def _angle(parts: list[str], text: str) -> float:
    degrees, minutes, seconds = ([_number(part) for part in parts] + [0.0, 0.0])[:3]
    if not (0.0 <= minutes < 60.0 and 0.0 <= seconds < 60.0):
        raise _not_a_position(text)
    size = abs(degrees) + minutes / 60.0 + seconds / 3600.0
    return -size if parts[0].startswith("-") else size


def _not_a_position(text: str) -> BadShape:
    return BadShape(path="position", value=text[:80], reason="not_a_position")


def waypoints_from_gpx(content: bytes) -> tuple[TypedPosition, ...]:
    """The named waypoints of a GPX 1.0 or 1.1 file, in the file's order.

    Raises BadShape (path "gpx") with reason "too_large" (over 5 MB), "entities" (a document that declares any),
    "not_gpx" (no XML, or XML of another kind), "too_many" (over 2,000 waypoints) or "no_waypoints"; BadValue for a
    waypoint off the earth.
    """
    if len(content) > MOST_GPX_BYTES:
        raise BadShape(path="gpx", value=len(content), reason="too_large")
    try:
        root = safe_xml.fromstring(content, forbid_dtd=True)
    except DefusedXmlException as trick:
        raise BadShape(path="gpx", value="", reason="entities") from trick
    except (safe_xml.ParseError, ValueError, LookupError) as broken:
        raise BadShape(path="gpx", value="", reason="not_gpx") from broken
    if root.tag.rpartition("}")[2] != "gpx":
        raise BadShape(path="gpx", value=root.tag[:40], reason="not_gpx")
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    for tracks in [child for child in root if child.tag != "wpt"]:
        root.remove(tracks)  # long, and nobody asks for them
    if len(root) > MOST_WAYPOINTS:
        raise BadShape(path="gpx", value=len(root), reason="too_many")
    try:
        document = gpxpy.parse(safe_xml.tostring(root, encoding="unicode"))
    except (gpxpy.gpx.GPXException, ValueError) as broken:
        raise BadShape(path="gpx", value="", reason="not_gpx") from broken
    if not document.waypoints:
        raise BadShape(path="gpx", value="", reason="no_waypoints")
    return tuple(
        _checked_place(point.latitude, point.longitude, point.elevation, point.name or str(number))
        for number, point in enumerate(document.waypoints, start=1)
    )


def places_of_zones(tables: Iterable[str]) -> dict[str, tuple[float, float]]:
    """The reference point (latitude, longitude) of each zone, from the text of `zone.tab` and `zone1970.tab`."""
    places: dict[str, tuple[float, float]] = {}
    for table in tables:
        for line in table.splitlines():
            if not line.startswith("#") and line.count("\t") >= 2:
                _, coordinates, name = line.split("\t")[:3]
                places[name] = _iso6709(coordinates)
    return places


def _iso6709(coordinates: str) -> tuple[float, float]:
    """Latitude and longitude of "+4024-00341" or "+404251-0740023"."""
    match = re.fullmatch(r"([-+])(\d{2})(\d{2})(\d{2})?([-+])(\d{3})(\d{2})(\d{2})?", coordinates)
    if not match:
        raise BadShape(path="zone_table", value=coordinates, reason="not_a_position")
    latitude = int(match[2]) + int(match[3]) / 60.0 + int(match[4] or 0) / 3600.0
    longitude = int(match[6]) + int(match[7]) / 60.0 + int(match[8] or 0) / 3600.0
    return (latitude if match[1] == "+" else -latitude), (longitude if match[5] == "+" else -longitude)


def position_doubts(
    point: Point,
    day: date,
    zones: Mapping[str, tuple[float, float]],
    lodge: Point | None = None,
    drive_min: float = 0.0,
) -> tuple[Doubt, ...]:
    """Whether a sign was lost or the two numbers were swapped; empty when nothing speaks for it.

    Against the lodge (or site): farther than a car gets in `drive_min` at 100 km/h, 30 km at least. Without a lodge,
    against the zone's reference point in `zones` (see places_of_zones): 700 km or more where a change would at least
    halve that. Besides: the sun highest before 10:00 or after 16:00. Raises BadValue (zone, place).
    """
    zone_of(point.time_zone)
    if lodge is not None:
        away = distance_km(point.latitude_deg, point.longitude_deg, lodge.latitude_deg, lodge.longitude_deg)
        offers = _offers(point, (lodge.latitude_deg, lodge.longitude_deg), away)
        far = away > max(NEAR_LODGE_KM, drive_min / 60.0 * FASTEST_KM_H)
        return (_doubt("far_from_lodge", point, day, away, offers),) if far else ()
    reference = zones.get(point.time_zone)
    away = distance_km(point.latitude_deg, point.longitude_deg, *reference) if reference else 0.0
    offers = _offers(point, reference, away) if reference else ()
    if reference and away >= FAR_FROM_ZONE_KM and offers:
        return (_doubt("far_from_zone", point, day, away, offers),)
    doubt = _doubt("noon", point, day, away, offers)
    return () if 10 <= doubt.noon.hour < 16 or abs(point.latitude_deg) > POLAR_DEG else (doubt,)


def _doubt(kind: str, point: Point, day: date, away: float, offers: Sequence[Correction]) -> Doubt:
    events = day_events(point.latitude_deg, point.longitude_deg, day, point.time_zone)
    rise = next((event.moment for event in events if event.limit_deg == SUNRISE_DEG and event.rising), None)
    down = next((event.moment for event in events if event.limit_deg == SUNRISE_DEG and not event.rising), None)
    noon = solar_noon(point.latitude_deg, point.longitude_deg, day, point.time_zone)
    return Doubt(kind, away, noon, rise, down, tuple(offers))


def _offers(point: Point, reference: tuple[float, float], away: float) -> tuple[Correction, ...]:
    """Changes of sign or order that bring the place at least twice as near, nearest first."""
    latitude, longitude = point.latitude_deg, point.longitude_deg
    turned = (
        (latitude, -longitude),
        (-latitude, longitude),
        (-latitude, -longitude),
        (longitude, latitude),
        (longitude, -latitude),
    )
    offers = [
        Correction(turn, new_latitude, new_longitude, distance_km(new_latitude, new_longitude, *reference))
        for turn, (new_latitude, new_longitude) in zip(_TURNS, turned, strict=True)
        if abs(new_latitude) <= 90.0
    ]
    return tuple(sorted((offer for offer in offers if offer.distance_km <= away / 2.0), key=lambda o: o.distance_km))
