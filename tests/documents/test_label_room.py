"""No label of a seat's drawing stands closer than a millimetre to another when it is printed."""

import io
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from datetime import datetime
from itertools import combinations
from math import hypot
from zoneinfo import ZoneInfo

import pytest
from fontTools.ttLib import TTFont

from trips.core import light
from trips.core.values import Hide, Point, Session, View
from trips.documents.drawings import seat_drawing
from trips.services.pdf import _font_body
from trips.services.print_jobs import readable

SVG = "{http://www.w3.org/2000/svg}"
MILLIMETRE = 72.0 / 25.4  # in points
ZONE = ZoneInfo("Europe/Madrid")
VIEW = View("v", "window", 0.0, 6.0, 8.0, 4.5)
HIDE = Hide("a", "Alder", Point(39.5, -6.2, 0.0, "Europe/Madrid"), (VIEW,), (), roof_height_m=0.5)
HOURS = ((6, 11), (12, 15), (17, 22))
PERCHES = ((6.0, 8.0, 4.5), (4.0, 4.3, 3.0), (15.0, 22.0, None), (30.0, 60.0, 2.0), (5.5, 5.5, 4.0))
FONTS = {weight: TTFont(io.BytesIO(_font_body(weight))) for weight in ("regular", "bold")}


def printed_boxes(svg: str) -> list[tuple[float, float, float, float, str]]:
    """Left, top, right, bottom of each label in points of print, by the font that papers are printed with."""
    large, _width = readable(svg)
    wide, shown = (
        float(re.search(rf"<svg[^>]*{what}", large).group(1))
        for what in (r'width="([\d.]+)pt', r"viewBox=\"\S+ \S+ (\S+)")
    )
    scale, found = wide / shown, []
    for label in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        font = FONTS["bold" if label.get("font-weight") else "regular"]
        glyphs, advance = font.getBestCmap(), font["hmtx"]
        size, x, y = (float(label.get(name)) for name in ("font-size", "x", "y"))
        length = sum(advance[glyphs[ord(letter)]][0] for letter in label.text) * size / font["head"].unitsPerEm
        left = x - {"start": 0.0, "middle": length / 2.0, "end": length}[label.get("text-anchor")]
        box = (left, y - 0.66 * size, left + length, y)  # capitals and digits stand on the line
        found.append((*(scale * edge for edge in box), label.text))
    return found


def between(one, other) -> float:
    across, down = max(one[0] - other[2], other[0] - one[2]), max(one[1] - other[3], other[1] - one[3])
    return max(across, down) if min(across, down) <= 0.0 else hypot(across, down)


@pytest.mark.parametrize("hours", HOURS, ids=lambda hours: f"{hours[0]}-{hours[1]}")
def test_labels_of_a_seat_keep_a_millimetre_apart(hours):
    starts_at, ends_at = (datetime(2027, 5, 8, hour, tzinfo=ZONE) for hour in hours)
    close = []
    for bearing in range(0, 360, 15):
        for near, far, edge in PERCHES:
            view = replace(VIEW, bearing_deg=float(bearing), near_m=near, far_m=far, water_edge_m=edge)
            session = Session("s", "session", starts_at, ends_at)
            drawing = seat_drawing(light.session_light(replace(HIDE, views=(view,)), session).views[0])
            boxes = printed_boxes(drawing)
            assert len(boxes) >= 7
            close += [
                (bearing, near, one[4], other[4], round(between(one, other) / MILLIMETRE, 2))
                for one, other in combinations(boxes, 2)
                if between(one, other) < MILLIMETRE
            ]
    assert close == []
