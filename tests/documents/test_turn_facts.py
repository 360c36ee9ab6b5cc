"""Facts of a turn and their words: water for the hours that people sit, whatever the heat proposes."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from trips.core.light import Interval
from trips.core.values import Hide, HourForecast, Point, Rules, Session
from trips.documents.briefing_cards import Card
from trips.documents.briefing_pages import best_light
from trips.documents.days import CallPage, HeatPage, SessionPage, TurnPage, ViewPage
from trips.documents.turn_facts import HideSession, heat_page, with_hours
from trips.documents.wording.advice import background_sentence
from trips.documents.wording.days import heat_sentences, water_words

ZONE = ZoneInfo("Europe/Madrid")
POINT = Point(39.5, -6.2, 320.0, "Europe/Madrid")
STARTS_AT, ENDS_AT = (datetime(2027, 7, 8, hour, 30, tzinfo=ZONE) for hour in (17, 21))
HOT = ((16, 40.0), (17, 40.0), (18, 39.0), (19, 37.5), (20, 35.5))


def stand(limit_c: float | None) -> HideSession:
    forecast = tuple(HourForecast(STARTS_AT.replace(hour=hour, minute=0), air_c, 30.0) for hour, air_c in HOT)
    hide = Hide(key="a", name="Alder", point=POINT, views=(), seats=(), sunken=True)
    session = Session(
        key="late", name="late", starts_at=STARTS_AT, ends_at=ENDS_AT, kind="late", forecast=forecast,
        heat_limit_c=limit_c,
    )  # fmt: skip
    return HideSession(hide, session, (), Rules())


def test_the_hotter_the_session_the_water_stays_that_of_its_hours():
    mild, hot, hottest = (heat_page(stand(limit_c)) for limit_c in (None, 37.0, 15.0))
    assert (hot.starts_at, hottest.starts_at) == (STARTS_AT.replace(hour=19), None)
    assert [(page.water_l, page.bottles) for page in (mild, hot, hottest)] == [(3.0, 3)] * 3


def test_hours_that_the_leader_typed_for_a_hide_are_those_of_the_water():
    moved = stand(37.0)
    moved = replace(moved, session=with_hours(moved.session, STARTS_AT.replace(hour=19), None))
    page = heat_page(moved)
    assert (page.above_limit, page.water_l, page.bottles) == (False, 1.5, 2)


def test_page_and_paper_ask_for_water_when_no_half_hour_is_cool_enough():
    turn = TurnPage("a", "Alder", "left", CallPage(), heat=heat_page(stand(15.0)))
    session = SessionPage("late", "late", "late", STARTS_AT, ENDS_AT, "Europe/Madrid", turn)
    assert water_words(turn.heat, "metric") == "3 l in 3 bottles of one litre"
    assert "No half hour of it stays below the limit: ask your leader." in heat_sentences(turn, "metric")
    assert "Water: 3 l in 3 bottles of one litre." in Card(session, turn).heat


def test_a_car_that_leaves_into_the_heat_says_what_to_do():
    heat = heat_page(stand(37.0))
    early = TurnPage("a", "Alder", "left", CallPage(leaves_at=STARTS_AT.replace(hour=16, minute=42)), heat=heat)
    assert heat_sentences(early, "metric")[-2:] == (
        "Cool enough 19:30–21:30 only.",
        "Your car leaves earlier, at 16:42: ask your leader for a later one.",
    )
    late = replace(early, call=CallPage(leaves_at=STARTS_AT.replace(hour=20)))
    assert heat_sentences(late, "metric")[-1].startswith("Ask your leader beforehand to be fetched")


def test_the_page_by_the_water_says_what_stands_behind_the_subject_and_what_is_mirrored():
    light = (
        Interval("shade", STARTS_AT, STARTS_AT.replace(hour=18)),
        Interval("back", STARTS_AT.replace(hour=18), ENDS_AT),
    )
    view = ViewPage("pool", 6.0, 6.0, light=light, water="low", bearing_deg=250.0)
    assert background_sentence(view) == (
        "Background, 250° (WSW): in shade behind a bright rim: dark parts of it are best. "
        "From low over the water, leave room under the subject for its reflection; wind breaks it."
    )
    assert background_sentence(replace(view, water="", light=light[:1])) == ""
    assert background_sentence(replace(view, bearing_deg=None)) == ""  # an issue from before
    turn = TurnPage("a", "Alder", "left", CallPage(), views=(view,))
    assert best_light(turn) == "back 18:30–21:30"


@pytest.mark.parametrize(
    ("litres", "bottles", "units", "words"),
    [
        (2.25, 3, "metric", "2.25 l in 3 bottles of one litre"),
        (0.75, 1, "metric", "0.75 l in 1 bottle of one litre"),
        (3.0, 3, "feet", "3.2 US quarts in 4 bottles of one US quart"),
        (0.75, 1, "feet", "0.8 US quarts in 1 bottle of one US quart"),
    ],
)
def test_water_is_told_to_the_quarter_litre(litres, bottles, units, words):
    assert water_words(HeatPage(litres, bottles), units) == words


def test_every_temperature_says_of_what_it_is():
    """A tier is the heat index's, which is another number than the air beside it."""
    turn = TurnPage("a", "Alder", "left", CallPage(), heat=replace(heat_page(stand(None)), tier="danger"))
    air, *more = heat_sentences(turn, "metric")
    assert air.startswith("Air up to 40 °C outside")
    assert "Heat index: danger." in more
