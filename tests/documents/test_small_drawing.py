"""The small drawing of a cell."""

from datetime import datetime
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from trips.core.light import session_light
from trips.core.values import Hide, Point, Session, View
from trips.documents.drawings import small_seat_drawing

SITE = Point(39.5, -6.2, 0.0, "Europe/Madrid")
ZONE = ZoneInfo("Europe/Madrid")


def drawing(bearing_deg, from_hour, to_hour):
    hide = Hide("h", "Alder", SITE, (View("v", "view", bearing_deg, 6.0, 6.0),), ())
    day = datetime(2027, 5, 8, tzinfo=ZONE)
    session = Session("s", "early", day.replace(hour=from_hour), day.replace(hour=to_hour))
    return small_seat_drawing(session_light(hide, session).views[0])


@pytest.mark.parametrize(("bearing_deg", "dashes"), [(250, None), (0, "4 2.5"), (75, "1 3")])
def test_classes_are_told_apart_by_pattern(bearing_deg, dashes):
    paths = ElementTree.fromstring(drawing(bearing_deg, 8, 9)).findall("{http://www.w3.org/2000/svg}path")
    assert paths[-1].get("stroke-dasharray") == dashes


def test_a_session_in_the_dark_has_no_strip():
    assert len(ElementTree.fromstring(drawing(0, 2, 4)).findall("{http://www.w3.org/2000/svg}path")) == 2


def test_it_is_small_and_carries_no_style():
    made = drawing(250, 7, 11)
    assert len(made) < 1200
    assert "style=" not in made
    assert 'aria-hidden="true"' in made
