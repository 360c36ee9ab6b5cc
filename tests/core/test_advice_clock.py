"""The settings card by clock time: dawn, dusk, changes of light, compensation."""

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from participants.core.gear import Gear, Support
from tests.core.advice_cards import BODY, FAR, GEAR, HIDE, LENS, SPARROW, START, STORK, VIEW, card, glances, middle
from trips.core.advice import (
    Situation,
    advise,
    compensation_stops,
    iso_needed,
    marked_f_number,
)
from trips.core.advice.lines import Frame
from trips.core.light import session_light
from trips.core.local_time import nearest_minute
from trips.core.reach import reach
from trips.core.values import AdviceSettings, ReachSettings, Session
from trips.documents.days import ViewPage
from trips.documents.wording.advice import step_sentences


def test_dawn_says_what_can_be_done_from_when_and_never_more_than_the_body_gives():
    """600 mm on a bean bag: 1/125 s (7/3 stops from 1/600). Wide open at ISO 6400 a stop more of light halves it."""
    hide = replace(HIDE, support="bean_bag")
    gear = replace(GEAR, supports=(Support("rice", "bean_bag"),))
    found = card(gear, view=FAR, subject=STORK, hide=hide, evs=(2.0, 11.0))
    assert [(step.kind, step.shutter_part) for step in found.steps] == [
        ("rest", 125),
        ("still", 1000),
        ("moving", 2000),
    ]
    froms = [step.spans[0][0] for step in found.steps]
    for step, moment in zip(found.steps, froms, strict=True):
        ev = 2.0 + (moment - START).total_seconds() / 600.0
        loss = iso_needed(4.0, 1 / step.shutter_part, ev) / 6400
        assert 2 ** (-1 / 4) < loss < 2 ** (1 / 6)
        assert step.spans[0][1] == START + timedelta(minutes=90)
    assert (froms[1] - froms[0]).total_seconds() / 60 == pytest.approx(30.0, abs=1.0)
    assert [row.at for row in found.rows][1:4] == froms
    assert [(row.still is None, row.moving is None) for row in found.rows][:4] == [
        (True, True), (False, True), (False, True), (False, False),
    ]  # fmt: skip
    assert all(one.iso <= 6400 for row in found.rows for one in (row.still, row.moving) if one)


def test_dusk_says_until_when_and_the_last_row_is_the_end_of_the_session():
    found = card(evs=(12.0, 0.0))
    assert [step.spans[0][0] for step in found.steps] == [START] * 3
    assert found.steps[0].spans[0][1] > found.steps[2].spans[0][1]
    assert found.rows[-1].at == START + timedelta(minutes=90)
    assert (found.rows[-1].still, found.rows[-1].moving) == (None, None)


def test_a_session_too_dark_throughout_has_steps_without_a_stretch_and_one_bright_enough_none():
    dark = card(evs=(-5.0, -5.0))
    assert [step.spans for step in dark.steps] == [()] * 3
    assert [row.still for row in dark.rows] == [None, None]
    assert card(evs=(12.0, 12.0)).steps == ()


def test_a_support_that_is_not_there_steadies_nothing():
    loose = card(replace(GEAR, supports=()), view=FAR, subject=STORK)
    assert loose.still.slowest_part == 640
    assert card(view=FAR, subject=STORK).still.slowest_part == 80
    dawn = {"view": FAR, "subject": STORK, "evs": (2.0, 11.0)}
    bare, rested = card(replace(GEAR, supports=()), **dawn), card(**dawn)
    assert [found.steps[0].kind for found in (bare, rested)] == ["hand", "rest"]
    told = [step_sentences(ViewPage("a", 40, 40, rows=found.rows, steps=found.steps)) for found in (bare, rested)]
    assert "1/640 s by hand from " in told[0][1]
    assert "1/80 s on a rest from " in told[1][1]


def test_rows_stand_where_the_light_changes_and_equal_neighbours_are_told_once():
    shade, sun = glances(9.0, 9.0, light="shade", minutes=44), glances(12.0, 12.0, light="front")[45:]
    found = card(light=shade + sun)
    assert [(row.light, row.at) for row in found.rows] == [
        ("shade", START), ("front", START + timedelta(minutes=45)), ("front", START + timedelta(minutes=90)),
    ]  # fmt: skip
    assert found.rows[0].still.iso > found.rows[1].still.iso == found.rows[2].still.iso
    long = card(evs=(10.0, 13.0), light=glances(10.0, 13.0, minutes=240))
    assert [(row.at - START).total_seconds() / 60 for row in long.rows] == [0, 120, 240]


def test_the_rows_of_a_clear_morning_change_when_the_shadow_leaves_the_perch():
    zone = START.tzinfo
    session = Session("e", "e", START, datetime(2027, 5, 8, 10, 45, tzinfo=zone), kind="early")
    light = session_light(replace(HIDE, roof_height_m=0.5), session).views[0]
    assert len(light.by_minute) == 241
    by_samples = pytest.approx([light.ev100[12], light.ev100[24]], abs=0.03)  # each minute as it is in its middle
    assert [light.by_minute[at].ev100 for at in (60, 120)] == by_samples
    found = card(light=light.by_minute)
    named = {row.light: row.at for row in found.rows[::-1]}
    assert {"none", "shade", "front"} == set(named)
    assert named["front"] == nearest_minute(light.lit[0].starts_at)
    assert found.rows[-1].at == session.ends_at


@pytest.mark.parametrize(
    ("tone", "light", "stops"),
    [("middle", "front", 0), ("light", "front", 1), ("dark", "side", -1), ("middle", "back", 1), ("light", "back", 2),
     ("dark", "back", 0), ("light", "soft", 1)],
)  # fmt: skip
def test_light_subjects_and_back_light_ask_for_more_and_dark_subjects_for_less(tone, light, stops):
    """A reflected-light meter renders middle grey (ISO 2720); a stop each is common practice, no source."""
    assert compensation_stops(light, tone) == stops
    found = card(subject=replace(SPARROW, tone=tone), light=glances(12.0, 12.0, light=light))
    assert {row.compensation for row in found.rows} == {stops}


def test_a_shutter_is_told_until_the_minute_whose_row_says_that_it_is_too_dark():
    """Also where the light gets another name within minutes after: that row must not wait for the name."""
    evs = [12.0] * 60 + [4.9] * 31
    light = tuple(
        replace(glance, ev100=ev, light="none" if minute >= 61 else "front")
        for minute, (glance, ev) in enumerate(zip(glances(12.0, 12.0), evs, strict=True))
    )
    found = card(view=FAR, subject=STORK, hide=replace(HIDE, support="bean_bag"), light=light)
    gone = {step.shutter_part: step.spans[-1][1] for step in found.steps if step.spans[-1][1] < light[-1].at}
    assert set(gone.values()) == {START + timedelta(minutes=60)}
    assert 2000 in gone
    (row,) = (row for row in found.rows if row.at == START + timedelta(minutes=60))
    assert (row.light, row.moving) == ("front", None)


@settings(max_examples=60, deadline=None)
@given(evs=st.tuples(*[st.floats(-2, 17)] * 3), speed=st.sampled_from(["feeding", "flight"]))
@example(evs=(14.0, 13.0, 3.0), speed="flight")  # a clear evening
def test_a_row_exposes_until_the_next_one_with_the_isos_that_the_body_has(evs, speed):
    """Automatic ISO follows the light from a row to the next: a stop beyond its ends at most."""
    found = card(subject=replace(SPARROW, speed=speed), evs=evs)
    light = {glance.at: glance.ev100 for glance in glances(*evs)}
    for row, after in pairwise(found.rows):
        held = [ev for at, ev in light.items() if row.at <= at <= after.at - timedelta(minutes=3)]
        for one in (row.still, row.moving):
            needed = [iso_needed(one.f_number, 1 / one.shutter_part, ev, loss_stops=0.3) for ev in held] if one else []
            assert all(100 / 2**1.3 < iso < 6400 * 2**1.3 for iso in needed)


def test_without_a_light_the_card_has_no_iso_and_no_steps():
    found = card(evs=(None, None))
    assert {(row.still.iso, row.moving.iso) for row in found.rows} == {(None, None)}
    assert found.steps == ()
    assert middle(found).moving.shutter_part == 2000
    assert advise(GEAR, reach(GEAR, VIEW, SPARROW, "web", ReachSettings()), Situation(HIDE, VIEW, SPARROW),
                  AdviceSettings()).rows == ()  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(
    evs=st.tuples(*[st.floats(-9, 19)] * 3),
    speed=st.sampled_from(["still", "feeding", "head_turn", "hop", "flight"]),
    top=st.sampled_from([800, 6400, 25_600]),
    wide=st.sampled_from([2.8, 4.0, 6.3, 11.0]),
)
def test_every_setting_exposes_to_a_sixth_of_a_stop_or_is_not_given(evs, speed, top, wide):
    """Every row: f-number, shutter and ISO expose the light of that minute; beyond the body's top there is no row."""
    gear = Gear(bodies=(replace(BODY, top_iso=top),), lenses=(replace(LENS, aperture_wide=wide, aperture_long=wide),))
    found = card(gear, subject=replace(SPARROW, speed=speed), evs=evs)
    by_minute = {glance.at: glance.ev100 for glance in glances(*evs)}
    for row in found.rows:
        for line, one in ((found.still, row.still), (found.moving, row.moving)):
            if one is None:
                assert iso_needed(wide, 1 / line.slowest_part, by_minute[row.at], loss_stops=0.4) > top
                continue
            assert marked_f_number(wide) <= one.f_number
            assert 100 <= one.iso <= top
            needed = iso_needed(one.f_number, 1 / one.shutter_part, by_minute[row.at], loss_stops=0.3)
            assert needed / one.iso < 2**0.75 or one.iso == 100
            if line.kind == "moving":
                assert one.shutter_part >= 2000


@settings(max_examples=60, deadline=None)
@given(ev=st.floats(3, 15), more=st.floats(0, 4))
def test_less_light_never_asks_for_less_iso_at_the_same_settings(ev, more):
    dark, bright = middle(card(evs=(ev, ev))).moving, middle(card(evs=(ev + more, ev + more))).moving
    if dark and (dark.f_number, dark.shutter_part) == (bright.f_number, bright.shutter_part):
        assert dark.iso >= bright.iso


@given(st.sampled_from((60, 125, 1000, 2000)), st.floats(-12.0, 16.0), st.sampled_from((800, 6400, 204800)))
def test_the_least_light_of_a_shutter_is_where_its_iso_is_the_top_one(part, ev, top):
    gear = reach(GEAR, VIEW, SPARROW, "web", ReachSettings()).best
    frame = Frame(gear, 0.1, 0.3, top, "", 0.005, AdviceSettings())
    least = frame.least_ev(part)
    assert frame.can(part, ev) == (ev >= least)
    if abs(max(ev, -10.0) - least) > 1e-9:  # at the border itself the last digit decides
        assert frame.can(part, ev) == (frame.iso(frame.gear.widest_f_number, part, ev) <= top * 2 ** (1 / 6))
