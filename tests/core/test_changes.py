"""What counts as a change for a person, and how it is said in three languages."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from participants.speaking import speaking
from trips.core.advice import Carry
from trips.documents.changes import changes, is_told, with_what_is_over
from trips.documents.days import (
    CallPage,
    DayPage,
    DaysPage,
    DrivePage,
    HeatPage,
    SessionPage,
    TurnPage,
    ViewPage,
    page_of,
)
from trips.documents.frozen_json import as_json, from_json
from trips.documents.wording.advice import settings_reasons
from trips.documents.wording.changes import change_sentence

START = datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
CALL = CallPage(
    "Car 1", leaves_at=START - timedelta(minutes=30), in_place_at=START, pick_up_to=START + timedelta(hours=4)
)
TURN = TurnPage("alder", "Alder", "left", CALL, walk_m=40, company=("somebody",), heat=HeatPage(3.0, 3))


def page(turn=TURN, number=1, **fields):
    session = SessionPage("s1", "early", "early", START, START + timedelta(hours=4), "Europe/Madrid", turn, **fields)
    return DaysPage("Marsh", number, "Europe/Madrid", days=(DayPage(date(2027, 5, 8)),), sessions=(session,))


def kinds(old, new):
    return [change.kind for change in changes(old, new)]


def said(old, new, language="en", units="metric"):
    with speaking(language):
        return [change_sentence(change, units) for change in changes(old, new)]


def test_the_same_page_under_another_number_is_no_change():
    assert kinds(page(), page(number=2)) == []


@pytest.mark.parametrize(
    "fields", [{"company": ("others",)}, {"leaders": ("the leader",)}, {"cautions": "bull"}, {"toilet": True}]
)
def test_what_nobody_has_to_act_on_is_no_change(fields):
    assert kinds(page(), page(replace(TURN, **fields))) == []


def test_another_hide_is_told_once_with_what_follows_from_it():
    moved = replace(TURN, hide_key="oak", hide="Cork Oak", seat="right", walk_m=300)
    assert kinds(page(), page(moved)) == ["hide", "walk"]
    assert said(page(), page(moved)) == [
        "Sat 8 May, 06:45: another hide: Cork Oak, right (was: Alder, left)",
        "Sat 8 May, 06:45: the walk is 300 m (was: 40 m)",
    ]


def test_another_seat_of_the_same_hide():
    assert said(page(), page(replace(TURN, seat="right"))) == ["Sat 8 May, 06:45: another seat: right (was: left)"]


def test_hide_and_seat_in_hebrew_are_told_each_by_itself():
    moved = replace(TURN, hide_key="oak", hide="אלון 3", seat="ימין")
    assert said(page(), page(moved)) == [
        "Sat 8 May, 06:45: another hide: \u2068\u2068אלון 3\u2069, \u2068ימין\u2069\u2069 (was: Alder, left)"
    ]


def test_an_earlier_car_is_told_on_the_sites_clock():
    earlier = replace(TURN, call=replace(CALL, leaves_at=START - timedelta(minutes=45)))
    assert said(page(), page(earlier)) == ["Sat 8 May, 06:45: the car leaves at 06:00 (was: 06:15)"]


def test_a_turn_withdrawn_added_and_changed_to_a_rest():
    assert said(page(), page(None)) == ["Sat 8 May, 06:45: withdrawn: Alder, left"]
    assert said(page(None), page()) == ["Sat 8 May, 06:45: new turn: Alder, left"]
    assert said(page(), page(None, rest="turn by turn")) == ["Sat 8 May, 06:45: you rest (was: Alder, left)"]
    assert said(page(None), page(None, rest="")) == ["Sat 8 May, 06:45: you rest"]
    assert kinds(page(None, rest="a"), page(None, rest="b")) == []


def test_a_session_that_is_gone_withdraws_its_turn():
    empty = replace(page(), sessions=())
    assert kinds(page(), empty) == ["turn_withdrawn"]
    assert kinds(empty, page()) == ["turn_added"]


def test_a_later_start_because_of_the_heat():
    hot = replace(TURN, heat=HeatPage(3.0, 3, starts_at=START + timedelta(hours=2)))
    assert said(page(), page(hot)) == ["Sat 8 May, 06:45: because of the heat it is cool enough from 08:45 only"]
    assert said(page(hot), page()) == ["Sat 8 May, 06:45: no later start because of the heat"]


def test_a_session_that_ends_earlier_is_told_by_its_end_and_one_that_moves_by_both():
    def moved(start_min, end_min):
        starts_at, ends_at = (START + timedelta(minutes=one) for one in (start_min, 240 + end_min))
        return replace(page(), sessions=(replace(page().sessions[0], starts_at=starts_at, ends_at=ends_at),))

    assert said(page(), moved(0, -30)) == ["Sat 8 May, 06:45: the session ends at 10:15 (was: 10:45)"]
    assert kinds(page(), moved(30, 30)) == ["hours", "ends_at"]


def test_hours_in_a_shared_seat_and_a_stay_say_what_they_are_now():
    half = replace(TURN, own_hours=((START, START + timedelta(hours=2)),))
    other = replace(TURN, own_hours=((START + timedelta(hours=2), START + timedelta(hours=4)),))
    assert said(page(half), page(other)) == [
        "Sat 8 May, 06:45: your hours in the shared seat: 08:45–10:45 (was: 06:45–08:45)"
    ]
    assert said(page(half), page()) == ["Sat 8 May, 06:45: the seat is yours alone for the whole session"]
    stays = page(replace(TURN, stays=True))
    assert said(page(), stays) == ["Sat 8 May, 06:45: you stay in the hide through the break"]
    assert said(stays, page()) == ["Sat 8 May, 06:45: you do not stay in the hide through the break"]


def test_the_only_lens_that_is_lost_is_told_as_no_gear_that_works():
    lens = ViewPage("pool", 6.0, 6.0, carry=Carry(("24 MP", "800 mm f/6.3"), "tripod", "", None, 0.0, False))
    assert said(page(replace(TURN, views=(lens,))), page()) == [
        "Sat 8 May, 06:45: no gear of yours is known to work there: ask your leader (was: 24 MP, 800 mm f/6.3)"
    ]


def test_there_and_back_again_is_no_change():
    moved = page(replace(TURN, seat="right"), 2)
    assert kinds(page(), moved) == ["seat"]
    assert kinds(moved, page(number=3)) == ["seat"]
    assert kinds(page(), page(number=3)) == []


@pytest.mark.parametrize("language", ["de", "es"])
def test_changes_are_said_in_the_persons_language_and_units(language):
    moved = replace(TURN, hide_key="oak", hide="Cork Oak", seat="right", walk_m=300)
    first, second = said(page(), page(moved), language, "feet")
    assert "984 ft" in second
    assert "131 ft" in second
    assert "Cork Oak, right" in first
    assert "another" not in first


def test_a_language_nobody_wrote_is_english():
    assert "another seat" in said(page(), page(replace(TURN, seat="right")), "fr")[0]


def test_a_page_is_stored_and_read_back_unchanged():
    whole = page(replace(TURN, own_hours=((START, START + timedelta(hours=1)),), views=(ViewPage("window", 6.0, 6.0),)))
    assert from_json(DaysPage, as_json(whole)) == whole


def test_a_page_of_an_issue_written_before_opens_as_it_was_told():
    moment = "2027-05-08T06:45:00+02:00"
    turn = {"hide_key": "a", "hide": "Alder", "seat": "left", "call": {"car": "Car 1", "leaves_at": moment}}
    turn |= {"walk_m": 40, "views": [{"name": "window", "near_m": 6.0, "far_m": 6.0}], "own_hours": [[moment, moment]]}
    session = {"key": "s1", "name": "early", "kind": "early", "starts_at": moment, "ends_at": moment}
    session |= {"time_zone": "Europe/Madrid", "turn": turn, "rest": None, "gone_since": "a field that is no more"}
    setting = {"f_number": 5.6, "shutter_part": 2000, "iso": 1600, "too_low": False}
    line = {"kind": "still", "start": setting | {"iso": 204800, "too_low": True}, "middle": setting, "end": setting}
    line |= {"computed_part": 800, "blur_pixels": 2.0, "focus": "group", "drive": "high"}
    line |= {"reasons": [{"kind": "light_too_low", "value": 204800.0, "limit": 6400.0}]}
    turn["views"].append({"name": "old", "near_m": 6.0, "far_m": 6.0, "still": line, "moving": line})
    page = page_of({"trip": "Marsh", "rota_number": 1, "time_zone": "UTC", "sessions": [session]})
    told = page.sessions[0].turn
    assert (told.where, told.call.leaves_at, told.views[0].lines) == ("Alder, left", page.sessions[0].starts_at, ())
    assert [row.still and row.still.iso for row in told.views[1].rows] == [None, 1600, 1600]
    assert settings_reasons(told.views[1]) == ()


@pytest.mark.parametrize(
    ("language", "sentence"),
    [
        ("en", "Sat 8 May, 06:45: the sky is to be overcast (was: clear)"),
        ("de", "Sa 8. Mai, 06:45: der Himmel wird bedeckt (vorher: klar)"),
        ("es", "sáb 8 may, 06:45: el cielo estará cubierto (antes: despejado)"),
    ],
)
def test_another_sky_is_told(language, sentence):
    assert said(page(sky="clear"), page(sky="overcast"), language) == [sentence]
    assert kinds(page(), page(sky="overcast")) == []  # an issue from before the sky was kept


def test_another_forecast_is_told_where_it_asks_for_other_clothes_care_or_water():
    def forecast(air_c, **fields):
        heat = HeatPage(**({"water_l": 3.0, "bottles": 3, "worst_air_c": air_c, "worst_hide_c": air_c} | fields))
        return page(replace(TURN, heat=heat))

    assert kinds(forecast(27.0), forecast(28.0)) == []
    assert said(forecast(20.0), forecast(27.0)) == ["Sat 8 May, 06:45: the air is to reach 27 °C (was: 20 °C)"]
    assert said(forecast(20.0), forecast(27.0), units="feet") == [
        "Sat 8 May, 06:45: the air is to reach 81 °F (was: 68 °F)"
    ]
    assert kinds(forecast(30.0), forecast(31.0, tier="danger")) == ["forecast"]
    assert kinds(forecast(None), forecast(31.0)) == ["forecast"]
    assert said(forecast(27.0), forecast(27.0, water_l=1.25, bottles=2)) == [
        "Sat 8 May, 06:45: take 1.25 l of water (was: 3 l)"
    ]


@pytest.mark.parametrize(("minutes", "told"), [(-1, True), (1, False), (5, False), (6, True)])
def test_a_car_that_leaves_up_to_five_minutes_later_tells_nobody(minutes, told):
    later = replace(TURN, call=replace(CALL, leaves_at=CALL.leaves_at + timedelta(minutes=minutes)))
    (change,) = changes(page(), page(later))
    assert is_told(change, 5) is told
    assert is_told(change, 0) is True


def test_another_change_is_told_whatever_the_rule_for_later_cars():
    (change,) = changes(page(), page(replace(TURN, seat="right")))
    assert is_told(change, 60)


def drives(*hides, later_min=0):
    leaves_at = START - timedelta(minutes=43 - later_min)
    stops = tuple((hide, leaves_at + timedelta(minutes=10)) for hide in hides)
    ends_at = START + timedelta(hours=4, minutes=later_min)
    out = DrivePage("grey van", leaves_at, START, stops, ends_in=hides[-1])
    return out, DrivePage("grey van", ends_at, ends_at + timedelta(minutes=30), stops[::-1], True, hides[-1])


@pytest.mark.parametrize("turn", [TURN, None])
def test_whoever_is_to_drive_is_told_so_with_a_turn_or_without(turn):
    before, after = page(turn), page(turn, drives=drives("Alder", "Oak"))
    assert said(before, after) == ["Sat 8 May, 06:45: you drive: grey van: Alder, Oak"]
    assert said(after, before) == ["Sat 8 May, 06:45: you do not drive any more (was: grey van: Alder, Oak)"]
    other = page(turn, drives=drives("Birch", "Oak"))
    assert said(after, other) == ["Sat 8 May, 06:45: you drive: grey van: Birch, Oak (was: grey van: Alder, Oak)"]


def test_a_driver_is_told_of_another_time_by_the_rule_for_later_cars():
    before, after = (page(None, drives=drives("Alder", later_min=minutes)) for minutes in (0, 6))
    assert said(before, after) == [
        "Sat 8 May, 06:45: you leave to fetch people at 10:51 (was: 10:45)",
        "Sat 8 May, 06:45: you leave with the car at 06:08 (was: 06:02)",
    ]
    assert [[is_told(change, least) for change in changes(before, after)] for least in (5, 6)] == [
        [True] * 2,
        [False] * 2,
    ]


def test_a_session_that_is_over_stays_as_it_was_told():
    moved = page(replace(TURN, call=replace(CALL, leaves_at=START)))
    ends_at = START + timedelta(hours=4)
    assert with_what_is_over(page(), moved, ends_at) == page()
    assert with_what_is_over(page(), moved, ends_at - timedelta(minutes=1)) == moved
