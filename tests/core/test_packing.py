"""The packing list: batteries against the air rules, water, cards, supports."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from participants.core.errors import BadValue
from participants.core.gear import Battery, Body, Gear, Lens, Support
from participants.core.packing import (
    HideVisit,
    TripNeeds,
    air_rule,
    bottles,
    card_gigabytes,
    charges_needed,
    packing_list,
    watt_hours,
)

BODY = Body("45 MP full-frame body", 36, 24, 8256, 5504, frames_per_s=20)
LENS = Lens("600 mm f/4", 600, 600, 4, 4, near_limit_m=5.2, weight_g=3200)


@pytest.mark.parametrize(
    ("volts", "ampere_hours", "energy", "rule"),
    [
        (7.2, 2.28, 16.4, "free"),
        (10.0, 10.0, 100.0, "free"),
        (14.4, 6.95, 100.1, "ask_carrier"),
        (16.0, 10.0, 160.0, "ask_carrier"),
        (16.0, 10.01, 160.2, "not_allowed"),
    ],
)
def test_batteries_are_measured_against_100_and_160_watt_hours(volts, ampere_hours, energy, rule):
    battery = Battery("spare", volts, ampere_hours)
    assert watt_hours(battery) == pytest.approx(energy, abs=0.05)
    assert air_rule(battery) == rule


def test_two_hours_of_heat_are_one_and_a_half_litres_and_two_bottles():
    assert bottles(2.0) == (1.5, 2)
    assert bottles(0.0) == (0.0, 0)
    assert bottles(4.0) == (3.0, 3)


@given(st.floats(0, 48), st.floats(0.25, 3))
def test_bottles_always_hold_the_water_and_never_one_too_many(hours, size):
    litres, count = bottles(hours, bottle_l=size)
    assert count * size >= litres - 1e-6
    assert (count - 1) * size < litres or count == 0


def test_cards_and_batteries_follow_hours_and_frame_rate():
    assert card_gigabytes(BODY, 8.0) == pytest.approx(20 * 36 * 8 * 45.44 * 1.2 / 1000, abs=1)
    assert charges_needed(BODY, 8.0) == 3
    assert charges_needed(BODY, 0.0) == 1


def kinds(items, group):
    """The kinds of a group with their rules."""
    return [(one.kind, one.rule) for one in items if one.group == group]


def test_supports_follow_the_hides_and_missing_ones_are_named():
    gear = Gear(bodies=(BODY,), lenses=(LENS,), supports=(Support("carbon legs", "tripod"),))
    needs = TripNeeds(session_hours=(4, 4), hides=(HideVisit("A", "bean_bag"), HideVisit("D", "tripod")))
    found = packing_list(gear, needs)
    assert kinds(found, "support") == [("bean_bag", "missing"), ("tripod", "own")]
    assert [one.names for one in found if one.kind == "bean_bag"] == [("A",)]


def test_the_cabin_bag_is_what_the_person_entered():
    gear = Gear(bodies=(BODY,), lenses=(LENS,), batteries=(Battery("large", 14.8, 10.0, count=3),))
    found = packing_list(gear, TripNeeds(cabin_bag_kg=3.0, cabin_bag_note="one bag"))
    assert kinds(found, "air") == [
        ("spare_battery", "ask_carrier"),
        ("too_many_large", "two_at_most"),
        ("cabin_bag", "over"),
    ]
    assert kinds(packing_list(gear, TripNeeds()), "air")[-1][0] != "cabin_bag"
    assert kinds(packing_list(gear, TripNeeds(flies=False, cabin_bag_kg=3.0)), "air") == []


def test_clothing_follows_the_forecast_and_says_when_there_is_none():
    assert ("forecast_to_follow", "") in kinds(packing_list(Gear(), TripNeeds()), "clothing")
    hot = packing_list(Gear(), TripNeeds(lowest_c=2.0, highest_c=38.0, dark=False))
    assert {kind for kind, _ in kinds(hot, "clothing")} >= {"warm_layers", "sun_and_salt"}
    assert "red_light" not in {kind for kind, _ in kinds(hot, "clothing")}


def test_a_guest_packs_no_camera_and_an_empty_gear_is_to_follow():
    gear = Gear(bodies=(BODY,), lenses=(LENS,))
    guest = packing_list(gear, TripNeeds(session_hours=(4,), photographs=False))
    assert {one.group for one in guest} == {"water", "clothing", "manners"}
    assert ("gear_to_follow", "") in kinds(packing_list(Gear(), TripNeeds()), "camera")


def test_impossible_amounts_are_refused():
    with pytest.raises(BadValue):
        bottles(-1.0)
    with pytest.raises(BadValue):
        watt_hours(Battery("b", float("nan"), 1.0))
