"""The small drawings of a cell: the light from the seat, and the session as a bar."""

from datetime import datetime
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from trips.core.light import counted_stretch, session_light
from trips.core.values import Hide, LightSettings, Point, Session, View
from trips.documents.drawings import light_bar, light_sample, small_seat_drawing

SITE = Point(39.5, -6.2, 0.0, "Europe/Madrid")
ZONE = ZoneInfo("Europe/Madrid")


def light(bearing_deg, from_hour, to_hour):
    hide = Hide("h", "Alder", SITE, (View("v", "view", bearing_deg, 6.0, 6.0),), ())
    day = datetime(2027, 5, 8, tzinfo=ZONE)
    session = Session("s", "early", day.replace(hour=from_hour), day.replace(hour=to_hour))
    return session_light(hide, session)


def drawing(bearing_deg, from_hour, to_hour):
    return small_seat_drawing(light(bearing_deg, from_hour, to_hour).views[0])


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


def test_the_counted_stretch_is_the_one_that_the_score_is_the_mean_of():
    found, settings = light(250, 6, 12), LightSettings()
    best = counted_stretch(found, settings)
    assert (best.ends_at - best.starts_at).total_seconds() == settings.best_samples * settings.step_min * 60.0
    within = [one.score for one in found.best_samples if best.starts_at <= one.moment < best.ends_at]
    assert sum(within) / len(within) == pytest.approx(found.score)
    assert best.name == "front"


def test_a_session_shorter_than_that_counts_whole():
    found = light(250, 8, 9)
    best = counted_stretch(found, LightSettings())
    assert (best.starts_at, best.ends_at) == (found.session.starts_at, found.session.ends_at)


def test_a_bar_has_a_stroke_for_each_stretch_of_sun_and_frames_what_counts():
    found = light(250, 5, 9)  # the sun rises at 07:18
    made = ElementTree.fromstring(light_bar(found, counted_stretch(found, LightSettings())))
    strokes = [path.get("class") for path in made.iter("{http://www.w3.org/2000/svg}path")]
    assert strokes == [None, "light-bar-front"]
    frame = made.find("{http://www.w3.org/2000/svg}rect")
    assert 60 < float(frame.get("x")) + float(frame.get("width")) <= 132
    assert "stroke-dasharray" in light_sample("back")
    assert "rect" in light_sample("best")
