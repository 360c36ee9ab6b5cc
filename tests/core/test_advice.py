"""The settings card: shutters, apertures, ISO, depth of field and what to carry."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadShape
from participants.core.gear import Body, Converter, Gear, Lens, Support
from participants.core.optics import exposure_value
from trips.core.advice import (
    Situation,
    advise,
    iso_needed,
    longest_shutter_s,
    marked_f_number,
    marked_iso,
    marked_shutter,
)
from trips.core.reach import reach
from trips.core.values import AdviceSettings, Hide, Point, ReachSettings, Seat, Subject, View

BODY = Body("45 MP full-frame body", 36.0, 24.0, 8256, 5504, top_iso=6400)
LENS = Lens("600 mm f/4", 600, 600, 4, 4, near_limit_m=5.2, weight_g=3200)
SPARE = Lens("100-400 mm f/5.6", 100, 400, 5.6, 5.6, near_limit_m=1.5, weight_g=1400)
GEAR = Gear(bodies=(BODY,), lenses=(LENS,), supports=(Support("legs", "tripod"),))
VIEW = View("a", "A", 250, 6.0, 7.0)
HIDE = Hide("h", "A", Point(39.5, -6.2, 300, "Europe/Madrid"), (VIEW,), (Seat("s", "left"),), walk_m=40)
SPARROW = Subject("sparrow", "House sparrow", 14, 18, speed="feeding")


def card(gear=GEAR, view=VIEW, subject=SPARROW, evs=(9.0, 12.0, 14.0), hide=HIDE):
    """The card for this gear in this light."""
    return advise(
        gear, reach(gear, view, subject, "web", ReachSettings()), Situation(hide, view, subject, evs), AdviceSettings()
    )


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
    assert card().still.middle.f_number == 5.0
    assert card().moving.middle.f_number == 5.0
    far = replace(VIEW, near_m=10.5, far_m=10.5)
    doubled = card(replace(GEAR, converters=(Converter("1.4x", 1.4),)), view=far)
    assert doubled.gear.converter is not None
    assert doubled.still.middle.f_number == 8.0


def test_a_still_subject_starts_at_a_thousandth_and_a_moving_one_at_a_two_thousandth():
    """Common practice, no source."""
    found = card(evs=(10.5, 10.5, 10.5))
    assert found.still.middle.shutter_part == 1000
    assert found.moving.middle.shutter_part == 2000
    assert found.still.focus == "single_point"
    assert found.moving.focus == "group"


def test_good_light_buys_a_shorter_shutter_for_what_moves_and_never_one_past_the_computed():
    hopping = replace(SPARROW, speed="hop")
    bright, dim = card(subject=hopping, evs=(14.0, 14.0, 14.0)), card(subject=hopping, evs=(10.0, 10.0, 10.0))
    assert bright.moving.middle.shutter_part > 2000
    assert bright.moving.middle.iso <= 3200
    assert dim.moving.middle.shutter_part == 2000
    slow = card(evs=(14.0, 14.0, 14.0)).moving
    assert slow.middle.shutter_part <= marked_shutter(1 / slow.computed_part)


def test_in_low_light_the_aperture_opens_before_a_still_subject_gets_a_slower_shutter():
    found = card(evs=(4.5, 6.5, 12.0)).still
    assert found.end.f_number == 5.0
    assert found.end.shutter_part == 1000
    assert found.middle.f_number < 5.0
    assert found.start.f_number == 4.0
    assert found.start.shutter_part < 1000
    assert {"open_up_first", "shutter_follows_light"} <= {why.kind for why in found.reasons}


def test_light_that_is_simply_too_low_is_said():
    found = card(evs=(-2.0, 4.0, 12.0))
    assert found.still.start.too_low
    assert found.moving.middle.too_low
    assert found.moving.middle.shutter_part == 2000
    assert "light_too_low" in {why.kind for why in found.moving.reasons}
    assert not found.moving.end.too_low


def test_bright_light_shortens_the_shutter_instead_of_leaving_the_base_iso():
    found = card(evs=(16.0, 16.0, 16.0)).still.middle
    assert found.iso == 100
    assert found.shutter_part > 1000


def test_without_a_light_the_card_has_no_iso():
    found = card(evs=(None, None, None))
    assert [one.iso for one in found.still.moments] == [None] * 3
    assert found.moving.middle.shutter_part == 2000


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
    doubled = card(replace(GEAR, converters=(Converter("1.4x", 1.4),)), view=far)
    spread = [found.depths[0].far_m - found.depths[0].near_m for found in (plain, doubled)]
    assert spread[1] / spread[0] == pytest.approx((8.0 / 5.0) / 1.4**2, rel=0.02)


def test_a_long_walk_leaves_the_other_lenses_behind_and_names_the_weight():
    both = replace(GEAR, lenses=(LENS, SPARE))
    far = card(both, hide=replace(HIDE, walk_m=300.0)).carry
    assert far.long_walk
    assert far.left_behind == ("100-400 mm f/5.6",)
    assert far.weight_g == 3200
    near = card(both).carry
    assert near.left_behind == ()
    assert near.support_name == "legs"
    assert card(hide=replace(HIDE, support="bean_bag")).carry.support_name == ""


def test_an_unknown_top_iso_is_assumed_and_said():
    gear = replace(GEAR, bodies=(replace(BODY, top_iso=None),))
    found = card(gear)
    assert found.top_iso == 6400
    assert "top_iso" in found.assumed


def test_no_card_without_gear_or_for_a_fault():
    for gear in (Gear(), replace(GEAR, lenses=(replace(LENS, near_limit_m=9.0),))):
        with pytest.raises(BadShape) as refusal:
            card(gear)
        assert refusal.value.reason == "no_gear_to_advise_on"


@settings(max_examples=80, deadline=None)
@given(
    evs=st.tuples(*[st.one_of(st.none(), st.floats(-6, 17))] * 3),
    speed=st.sampled_from(["still", "feeding", "head_turn", "hop", "flight"]),
    top=st.sampled_from([800, 6400, 25_600]),
    wide=st.sampled_from([2.8, 4.0, 6.3, 11.0]),
)
def test_every_card_exposes_or_says_that_it_cannot(evs, speed, top, wide):
    gear = Gear(bodies=(replace(BODY, top_iso=top),), lenses=(replace(LENS, aperture_wide=wide, aperture_long=wide),))
    found = card(gear, subject=replace(SPARROW, speed=speed), evs=evs)
    for line in (found.still, found.moving):
        for moment, ev in zip(line.moments, evs, strict=True):
            assert moment.f_number >= marked_f_number(wide)
            if ev is None:
                assert moment.iso is None
            elif not moment.too_low:
                assert moment.iso <= top * 1.3
            if line.kind == "moving":
                assert moment.shutter_part >= 2000


@settings(max_examples=60, deadline=None)
@given(ev=st.floats(-2, 15), more=st.floats(0, 4))
def test_less_light_never_asks_for_less_iso_at_the_same_settings(ev, more):
    dark, bright = card(evs=(ev, ev, ev)).moving.middle, card(evs=(ev + more,) * 3).moving.middle
    if (dark.f_number, dark.shutter_part) == (bright.f_number, bright.shutter_part):
        assert dark.iso >= bright.iso
