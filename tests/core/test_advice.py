"""The settings card: shutters, apertures, ISO, depth of field and what to carry."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadShape
from participants.core.kit import Body, Converter, Kit, Lens, Support
from participants.core.optics import exposure_value
from trips.core.advice import (
    Situation,
    advise,
    compensation_stops,
    iso_needed,
    longest_shutter_s,
    marked_f_number,
    marked_iso,
    marked_shutter,
)
from trips.core.advice.lines import pixel_of_output_mm
from trips.core.light import Glance, session_light
from trips.core.reach import reach
from trips.core.values import AdviceSettings, Hide, Point, ReachSettings, Seat, Session, Subject, View

BODY = Body("45 MP full-frame body", 36.0, 24.0, 8256, 5504, top_iso=6400)
LENS = Lens("600 mm f/4", 600, 600, 4, 4, near_limit_m=5.2, weight_g=3200)
SPARE = Lens("100-400 mm f/5.6", 100, 400, 5.6, 5.6, near_limit_m=1.5, weight_g=1400)
KIT = Kit(bodies=(BODY,), lenses=(LENS,), supports=(Support("legs", "tripod"),))
VIEW = View("a", "A", 250, 6.0, 7.0)
HIDE = Hide("h", "A", Point(39.5, -6.2, 300, "Europe/Madrid"), (VIEW,), (Seat("s", "left"),), walk_m=40)
FAR = replace(VIEW, near_m=40.0, far_m=40.0)
STORK = Subject("stork", "White stork", 100, 115, speed="feeding")
SPARROW = Subject("sparrow", "House sparrow", 14, 18, speed="feeding")


START = datetime(2027, 5, 8, 6, 45, tzinfo=ZoneInfo("Europe/Madrid"))


def glances(*evs, light="front", minutes=90):
    """Minute by minute from one EV to the next, on straight lines; None: not known."""
    marks = np.linspace(0, minutes, len(evs))
    known = [None] * (minutes + 1) if None in evs else np.interp(range(minutes + 1), marks, evs).tolist()
    return tuple(Glance(START + timedelta(minutes=at), light, ev) for at, ev in enumerate(known))


def card(kit=KIT, view=VIEW, subject=SPARROW, evs=(12.0, 12.0), hide=HIDE, **situation):
    """The card for this kit in this light."""
    light = situation.pop("light", None) or glances(*evs)
    where = Situation(hide, view, subject, light, **situation)
    return advise(kit, reach(kit, view, subject, "web", ReachSettings()), where, AdviceSettings())


def middle(found):
    """The row that holds in the middle of the session."""
    return [row for row in found.rows if row.at <= START + timedelta(minutes=45)][-1]


def test_marked_values_are_the_ones_on_the_dial():
    assert marked_f_number(5.04) == 5.0
    assert marked_f_number(5.657) == 5.6
    assert marked_f_number(7.92) == 8.0
    assert marked_shutter(1 / 2000) == 2000
    assert marked_shutter(1 / 3666) == 4000
    assert marked_shutter(1e-9) == 8000
    assert marked_iso(3250) == 3200
    assert marked_iso(3) == 100


def test_the_iso_exposes_the_other_two():
    assert iso_needed(16, 1 / 125, exposure_value(16, 1 / 125)) == pytest.approx(100)
    assert iso_needed(4, 1 / 2000, 12.0) == pytest.approx(100 * 2 ** (exposure_value(4, 1 / 2000) - 12))
    assert iso_needed(4, 1 / 2000, 12.0, loss_stops=1.0) == pytest.approx(2 * iso_needed(4, 1 / 2000, 12.0))


def test_three_pixels_of_a_turning_head_need_the_published_shutter():
    scale = 0.0684929  # 600 mm at 10 m
    assert 1 / longest_shutter_s(0.7, scale, 0.00436, 3) == pytest.approx(3666, abs=2)


def test_the_aperture_is_two_thirds_down_or_a_full_stop_with_a_converter():
    """Common practice, no source."""
    assert middle(card()).still.f_number == 5.0
    assert middle(card()).moving.f_number == 5.0
    far = replace(VIEW, near_m=10.5, far_m=10.5)
    doubled = card(replace(KIT, converters=(Converter("1.4x", 1.4),)), view=far)
    assert doubled.gear.converter is not None
    assert middle(doubled).still.f_number == 8.0


def test_a_still_subject_starts_at_a_thousandth_and_a_moving_one_at_a_two_thousandth():
    """Common practice, no source."""
    found = card(evs=(10.5, 10.5))
    assert middle(found).still.shutter_part == 1000
    assert middle(found).moving.shutter_part == 2000


@pytest.mark.parametrize(("speed", "focus"), [("hop", "single_point"), ("flight", "group")])
def test_the_focus_is_one_point_but_a_group_for_flight(speed, focus):
    found = card(subject=replace(SPARROW, speed=speed))
    assert (found.still.focus, found.moving.focus) == ("single_point", focus)


def test_good_light_buys_a_shorter_shutter_for_what_moves_and_never_one_past_the_computed():
    hopping = replace(SPARROW, speed="hop")
    bright, dim = card(subject=hopping, evs=(14.0, 14.0)), card(subject=hopping, evs=(10.0, 10.0))
    assert 2000 < middle(bright).moving.shutter_part <= bright.moving.computed_part
    assert middle(bright).moving.iso <= 3200
    assert middle(dim).moving.shutter_part == 2000
    assert middle(card(evs=(14.0, 14.0))).moving.shutter_part == 2000


def test_a_flight_is_followed_and_needs_no_more_than_a_four_thousandth():
    """At 24 m 600 mm draws at 0.0257: 2 of 8 m/s move 51 mm/s there, 3 of 2400 pixels across 36 mm are 0.045 mm."""
    far = replace(VIEW, near_m=24.0, far_m=24.0)
    kite = replace(SPARROW, speed="flight", length_min_cm=55, length_max_cm=60)
    found = card(view=far, subject=kite, evs=(15.0, 15.0))
    assert found.moving.computed_part == 1250  # 0.045 / 51 = 1/1142 s
    near = card(subject=replace(SPARROW, speed="flight"), evs=(15.0, 15.0))
    assert near.moving.computed_part == 4000
    assert middle(near).moving.shutter_part == 4000
    assert "panning" in {why.kind for why in near.moving.reasons}


def test_blur_is_judged_at_the_size_of_the_output():
    """A frame of 36 mm in which a subject takes 0.4 or more becomes 3543 pixels for 30 cm, 2400 for the web."""
    gear = card().gear
    assert pixel_of_output_mm(gear, 0.5, 1417) == pytest.approx(36.0 / 3542.5)
    assert pixel_of_output_mm(gear, 0.5, 960) == pytest.approx(36.0 / 2400.0)
    assert pixel_of_output_mm(gear, 0.2, 960) == pytest.approx(18.0 / 2400.0)
    assert pixel_of_output_mm(gear, None, 960) == pytest.approx(36.0 / 2400.0)
    web, large = (card(subject=replace(SPARROW, speed="head_turn"), output_pixels=size) for size in (960, 1984))
    assert large.moving.computed_part > web.moving.computed_part
    assert large.still.slowest_part > web.still.slowest_part


def test_in_low_light_the_aperture_opens_before_a_still_subject_gets_a_slower_shutter():
    rows = [row.still for row in card(evs=(3.0, 12.0)).rows]
    assert rows[0] is None
    first, last = rows[1], rows[-1]
    assert (first.f_number, first.iso, first.shutter_part < 1000) == (4.0, 6400, True)
    assert (last.f_number, last.shutter_part) == (5.0, 1000)
    for row in filter(None, rows):
        assert row.shutter_part == 1000 or row.f_number == 4.0


def test_dawn_says_what_can_be_done_from_when_and_never_more_than_the_body_gives():
    """600 mm on a bean bag: 1/125 s (7/3 stops from 1/600). Wide open at ISO 6400 a stop more of light halves it."""
    hide = replace(HIDE, support="bean_bag")
    kit = replace(KIT, supports=(Support("rice", "bean_bag"),))
    found = card(kit, view=FAR, subject=STORK, hide=hide, evs=(2.0, 11.0))
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
    loose = card(replace(KIT, supports=()), view=FAR, subject=STORK)
    assert loose.still.slowest_part == 640
    assert card(view=FAR, subject=STORK).still.slowest_part == 80


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
    assert [light.by_minute[at].ev100 for at in (60, 120)] == pytest.approx([light.ev100[12], light.ev100[24]])
    found = card(light=light.by_minute)
    named = {row.light: row.at for row in found.rows[::-1]}
    assert {"none", "shade", "front"} == set(named)
    assert 0 <= (named["front"] - light.lit[0].starts_at).total_seconds() < 60
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


def test_surplus_light_stops_down_before_it_shortens_the_shutter():
    found = middle(card(evs=(16.0, 16.0))).still
    assert (found.iso, found.shutter_part) == (100, 1000)
    assert found.f_number > 5.0
    glaring = middle(card(evs=(19.0, 19.0))).still
    assert (glaring.f_number, glaring.iso) == (11.0, 100)
    assert glaring.shutter_part > 1000


def test_the_good_iso_is_never_above_what_the_body_gives_well():
    small = replace(KIT, bodies=(replace(BODY, top_iso=1600),))
    assert "iso_acceptable" not in {why.kind for why in card(small).moving.reasons}
    [why] = [why for why in card().moving.reasons if why.kind == "iso_acceptable"]
    assert (why.value, why.limit) == (3200, 6400)
    bright = card(small, subject=replace(SPARROW, speed="hop"), evs=(12.0, 12.0))
    assert middle(bright).moving.iso <= 1600


def test_without_a_light_the_card_has_no_iso_and_no_steps():
    found = card(evs=(None, None))
    assert {(row.still.iso, row.moving.iso) for row in found.rows} == {(None, None)}
    assert found.steps == ()
    assert middle(found).moving.shutter_part == 2000
    assert advise(KIT, reach(KIT, VIEW, SPARROW, "web", ReachSettings()), Situation(HIDE, VIEW, SPARROW),
                  AdviceSettings()).rows == ()  # fmt: skip


def test_the_depth_of_field_is_given_at_both_ends_of_the_perch():
    found = card()
    assert [one.distance_m for one in found.depths] == [6.0, 7.0]
    for depth in found.depths:
        assert depth.near_m < depth.distance_m < depth.far_m
        assert depth.far_m - depth.near_m < 0.2
    assert found.circle_mm == pytest.approx(0.02884, abs=1e-5)


def test_a_converter_thins_the_depth_of_field_at_the_same_f_number():
    far = replace(VIEW, near_m=10.5, far_m=10.5)
    plain = card(view=far)
    doubled = card(replace(KIT, converters=(Converter("1.4x", 1.4),)), view=far)
    spread = [found.depths[0].far_m - found.depths[0].near_m for found in (plain, doubled)]
    assert spread[1] / spread[0] == pytest.approx((8.0 / 5.0) / 1.4**2, rel=0.02)


def test_a_long_walk_leaves_the_other_lenses_behind_and_names_the_weight():
    both = replace(KIT, lenses=(LENS, SPARE))
    far = card(both, hide=replace(HIDE, walk_m=300.0)).carry
    assert far.long_walk
    assert far.left_behind == ("100-400 mm f/5.6",)
    assert far.weight_g == 3200
    near = card(both).carry
    assert near.left_behind == ()
    assert near.support_name == "legs"
    assert card(hide=replace(HIDE, support="bean_bag")).carry.support_name == ""


def test_an_unknown_top_iso_is_assumed_and_said():
    kit = replace(KIT, bodies=(replace(BODY, top_iso=None),))
    found = card(kit)
    assert found.top_iso == 6400
    assert "top_iso" in found.assumed


def test_no_card_without_gear_or_for_a_fault():
    for kit in (Kit(), replace(KIT, lenses=(replace(LENS, near_limit_m=9.0),))):
        with pytest.raises(BadShape) as refusal:
            card(kit)
        assert refusal.value.reason == "no_gear_to_advise_on"


@settings(max_examples=80, deadline=None)
@given(
    evs=st.tuples(*[st.floats(-9, 19)] * 3),
    speed=st.sampled_from(["still", "feeding", "head_turn", "hop", "flight"]),
    top=st.sampled_from([800, 6400, 25_600]),
    wide=st.sampled_from([2.8, 4.0, 6.3, 11.0]),
)
def test_every_setting_exposes_to_a_sixth_of_a_stop_or_is_not_given(evs, speed, top, wide):
    """Every row: f-number, shutter and ISO expose the light of that minute; beyond the body's top there is no row."""
    kit = Kit(bodies=(replace(BODY, top_iso=top),), lenses=(replace(LENS, aperture_wide=wide, aperture_long=wide),))
    found = card(kit, subject=replace(SPARROW, speed=speed), evs=evs)
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
