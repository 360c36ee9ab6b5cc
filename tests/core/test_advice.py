"""The settings card: shutters, apertures, ISO, depth of field and what to carry."""

from dataclasses import replace

import pytest

from participants.core.errors import BadShape
from participants.core.gear import Converter, Gear
from participants.core.optics import exposure_value
from tests.core.advice_cards import BODY, GEAR, HIDE, LENS, SPARE, SPARROW, VIEW, card, middle
from trips.core.advice import (
    iso_needed,
    longest_shutter_s,
    marked_f_number,
    marked_iso,
    marked_shutter,
)
from trips.core.advice.lines import pixel_of_output_mm


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
    doubled = card(replace(GEAR, converters=(Converter("1.4x", 1.4),)), view=far)
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


def test_surplus_light_stops_down_before_it_shortens_the_shutter():
    found = middle(card(evs=(16.0, 16.0))).still
    assert (found.iso, found.shutter_part) == (100, 1000)
    assert found.f_number > 5.0
    glaring = middle(card(evs=(19.0, 19.0))).still
    assert (glaring.f_number, glaring.iso) == (11.0, 100)
    assert glaring.shutter_part > 1000


def test_the_good_iso_is_never_above_what_the_body_gives_well():
    small = replace(GEAR, bodies=(replace(BODY, top_iso=1600),))
    assert "iso_acceptable" not in {why.kind for why in card(small).moving.reasons}
    [why] = [why for why in card().moving.reasons if why.kind == "iso_acceptable"]
    assert (why.value, why.limit) == (3200, 6400)
    bright = card(small, subject=replace(SPARROW, speed="hop"), evs=(12.0, 12.0))
    assert middle(bright).moving.iso <= 1600


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
