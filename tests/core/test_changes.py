"""What counts as a change for a person, and how it is said in three languages."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from trips.documents.changes import changes
from trips.documents.days import CallPage, DayPage, DaysPage, HeatPage, SessionPage, TurnPage, ViewPage
from trips.documents.frozen_json import as_json, from_json
from trips.documents.wording.changes import SENTENCES, change_sentence

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
    return [change_sentence(change, language, units) for change in changes(old, new)]


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
    hot = replace(TURN, heat=HeatPage(1.5, 2, starts_at=START + timedelta(hours=2)))
    assert said(page(), page(hot)) == ["Sat 8 May, 06:45: because of the heat: from 08:45"]
    assert said(page(hot), page()) == ["Sat 8 May, 06:45: no later start because of the heat"]


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


def test_every_language_says_everything():
    assert len({frozenset(sentences) for sentences in SENTENCES.values()}) == 1


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
    page = from_json(DaysPage, {"trip": "Marsh", "rota_number": 1, "time_zone": "UTC", "sessions": [session]})
    told = page.sessions[0].turn
    assert (told.where, told.call.leaves_at, told.views[0].lines) == ("Alder, left", page.sessions[0].starts_at, ())
