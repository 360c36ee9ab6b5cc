"""The line that hills and trees draw above the level horizon, as seen from the perch."""

import csv
import io
import re
from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from participants.core.errors import BadShape, BadValue, NeverHappens
from trips.core.sun import SUNRISE_DEG, stamps_of, track
from trips.core.values import Point

Numbers = NDArray[np.float64]
Horizon = tuple[tuple[float, float], ...]
MOST_POINTS = 720  # two a degree: more than any survey has


def height_at_deg(horizon: Horizon, azimuth_deg: Numbers) -> Numbers:
    """The line's height at any azimuth, deg: straight between its points, on past 360; 0 everywhere without points."""
    azimuth = np.asarray(azimuth_deg, dtype=np.float64)
    if not horizon:
        return np.zeros_like(azimuth)
    first, last = horizon[0], horizon[-1]
    points = np.array([(last[0] - 360.0, last[1]), *horizon, (first[0] + 360.0, first[1])], dtype=np.float64)
    return np.interp(azimuth, points[:, 0], points[:, 1])


def checked_horizon(points: Sequence[tuple[float, float]]) -> Horizon:
    """The points as a horizon line.

    Raises BadValue for an azimuth outside 0-360 or a height outside -10..90 deg, BadShape (reason "unsorted") unless
    azimuths rise from point to point, "too_many" beyond 720 points.
    """
    line = tuple((float(azimuth), float(height)) for azimuth, height in points)
    if len(line) > MOST_POINTS:
        raise BadShape(path="horizon", value=len(line), reason="too_many")
    for azimuth, height in line:
        if not 0.0 <= azimuth <= 360.0:
            raise BadValue(field="horizon_azimuth_deg", value=azimuth, low=0.0, high=360.0, unit="deg")
        if not -10.0 <= height <= 90.0:
            raise BadValue(field="horizon_height_deg", value=height, low=-10.0, high=90.0, unit="deg")
    for before, after in pairwise(line):
        if not before[0] < after[0]:
            raise BadShape(path="horizon", value=after[0], reason="unsorted")
    if line and line[-1][0] == 360.0:
        line = line[:-1] if line[0][0] == 0.0 and len(line) > 1 else ((0.0, line[-1][1]), *line[:-1])
    return line


def horizon_from_text(text: str) -> Horizon:
    """A horizon typed as pairs ("0:2 60:4") or pasted as two columns (comma, semicolon, tab or blanks between).

    A first line of words is taken as a heading. Decimal commas are read where another separator parts the columns.
    Raises BadShape (reason "not_a_pair", value the piece) and what `checked_horizon` raises.
    """
    pieces = _pairs_of(text.replace("\ufeff", "").strip())
    points = []
    for piece in pieces:
        try:
            azimuth, height = (float(part.replace(",", ".")) for part in piece)
        except ValueError as odd:
            raise BadShape(path="horizon", value=" ".join(piece)[:60], reason="not_a_pair") from odd
        points.append((azimuth, height))
    return checked_horizon(points)


def _pairs_of(text: str) -> list[list[str]]:
    if not text:
        return []
    if ":" in text:
        parts = re.split(r"[\s;]+", re.sub(r"\s*:\s*", ":", text))
        return [part.rstrip(",").split(":") for part in parts if part]
    separator = next((mark for mark in "\t;" if mark in text), "," if re.search(r"\d\s*,\s*-?\d", text) else " ")
    rows = [
        [cell.strip() for cell in row if cell.strip()]
        for row in csv.reader(io.StringIO(text), delimiter=separator, skipinitialspace=True)
    ]
    rows = [row for row in rows if row]
    if len(rows) > 1 and all(re.search("[A-Za-z]", cell) for cell in rows[0]):
        rows = rows[1:]
    return rows


def horizon_from_moments(point: Point, moments: Sequence[datetime]) -> Horizon:
    """A horizon from the moments at which the sun reached the perch or left it.

    Each moment gives one point: where the sun stood just then (apparent height); straight lines between the points,
    so one moment gives a level line. A first guess, to be called "derived" on every page: right near the sun's places
    at these moments, open to doubt elsewhere. Raises NeverHappens (event "sun_on_perch", day) for a moment at which
    the sun is down, BadShape (reason "no_moments") without any.
    """
    if not moments:
        raise BadShape(path="horizon", value="", reason="no_moments")
    seen = track(point.latitude_deg, point.longitude_deg, stamps_of(moments))
    points: dict[float, float] = {}
    for moment, azimuth, geometric, apparent in zip(
        moments, seen.azimuth_deg, seen.geometric_deg, seen.apparent_deg, strict=True
    ):
        if geometric < SUNRISE_DEG:
            raise NeverHappens(event="sun_on_perch", day=moment)
        key = round(float(azimuth), 2) % 360.0
        points[key] = max(points.get(key, -5.0), round(max(float(apparent), 0.0), 2))
    return checked_horizon(sorted(points.items()))
