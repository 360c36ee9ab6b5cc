"""Verdicts, the sets that give them, their reasons, and what would help."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from participants.core.kit import Body, Converter, Kit, Lens, Tube
from trips.core.reach import VERDICTS, Offer, hide_reach, reach, what_would_help
from trips.core.values import Chance, Hide, Point, ReachSettings, Seat, Subject, View, Wishes

MARKS = ReachSettings()
FULL = Body("45 MP full-frame body", 36.0, 24.0, 8256, 5504)
SMALL = Body("24 MP 1.5 body", 23.5, 15.6, 6000, 4000)
LONG = Lens("600 mm f/4", 600, 600, 4, 4, near_limit_m=5.2)
SHORT = Lens("300 mm f/4", 300, 300, 4, 4, near_limit_m=2.8)
VERY_LONG = Lens("800 mm f/5.6", 800, 800, 5.6, 5.6, near_limit_m=6.5)
ZOOM = Lens("200-600 mm f/5.6-6.3", 200, 600, 5.6, 6.3, near_limit_m=2.4)
SPARROW = Subject("sparrow", "House sparrow", 14, 18)  # encyclopaedia range
GOLDCREST = Subject("goldcrest", "Goldcrest", 8.5, 9.5)  # field-guide range, from memory
KITE = Subject("kite", "Black kite", 48, 60)  # field-guide range, from memory
VULTURE = Subject("vulture", "Griffon vulture", 93, 122)  # encyclopaedia range

A = View("a", "A", 250, 6.0, 6.0, water_edge_m=4.5)
B = View("b", "B", 100, 5.5, 5.5, water_edge_m=4.0)
C = View("c", "C west", 250, 7.0, 7.0)
D = View("d", "D", 0, 15.0, 15.0)


def kit(*lenses, bodies=(FULL,), converters=(), tubes=()):
    """A kit of these pieces."""
    return Kit(bodies=bodies, lenses=lenses, converters=converters, tubes=tubes)


def test_a_600_mm_lens_works_at_six_metres_with_a_warning_for_the_water_edge():
    found = reach(kit(LONG), A, SPARROW, "web", MARKS)
    assert found.verdict == "good"
    assert found.fill == pytest.approx(0.4446, abs=0.001)
    assert found.field_mm == pytest.approx(360, abs=0.5)
    assert [(one.kind, one.value, one.limit) for one in found.warnings] == [("water_edge_inside_limit", 4.5, 5.2)]
    assert found.assumed == ("max_magnification",)
    at_b = reach(kit(LONG), B, SPARROW, "web", MARKS)
    assert at_b.verdict == "good"
    assert [(one.kind, one.value) for one in at_b.warnings] == [("water_edge_inside_limit", 4.0)]
    assert reach(kit(LONG), C, SPARROW, "web", MARKS).warnings == ()


def test_a_300_mm_lens_at_fifteen_metres_suits_large_birds_and_is_no_fault():
    assert reach(kit(SHORT), D, GOLDCREST, "web", MARKS).verdict in {"out_of_reach", "needs_crop"}
    assert reach(kit(SHORT), D, SPARROW, "web", MARKS).verdict in {"out_of_reach", "needs_crop"}
    large = reach(kit(SHORT), D, VULTURE, "web", MARKS)
    assert large.verdict == "good"
    assert large.field_mm == pytest.approx(1800, abs=10)


def test_an_800_mm_lens_that_focuses_to_six_and_a_half_metres_is_a_fault_at_six():
    for view in (A, B):
        found = reach(kit(VERY_LONG), view, SPARROW, "web", MARKS)
        assert found.verdict == "fault"
        assert found.factor == 0
        assert found.best is None
        assert (found.reason.kind, found.reason.item) == ("inside_near_limit", "800 mm f/5.6")
        assert (found.reason.value, found.reason.limit) == (view.far_m, 6.5)
    assert reach(kit(VERY_LONG), C, SPARROW, "web", MARKS).verdict != "fault"


def test_only_the_part_of_the_perch_that_can_be_focused_is_judged():
    wide = replace(A, near_m=4.0, far_m=8.0)
    found = reach(kit(LONG), wide, SPARROW, "web", MARKS)
    assert found.judged_at_m == pytest.approx((5.2 + 8.0) / 2)
    assert [one.kind for one in found.warnings] == ["near_part_inside_limit"]


def test_a_tube_is_named_when_only_it_focuses_and_loses_the_far_end():
    close = replace(A, near_m=4.5, far_m=4.8)
    assert reach(kit(LONG), close, SPARROW, "web", MARKS).verdict == "fault"
    with_tube = reach(kit(LONG, tubes=(Tube("25 mm tube", 25),)), close, SPARROW, "web", MARKS)
    assert with_tube.verdict == "good"
    assert with_tube.best.tube.length_mm == 25
    deep = replace(A, near_m=4.5, far_m=20.0)
    far_end = reach(kit(LONG, tubes=(Tube("25 mm tube", 25),)), deep, None, "web", MARKS)
    assert far_end.best.tube is None  # ties go to the simpler set


def test_a_converter_is_chosen_only_when_it_helps():
    pieces = kit(LONG, converters=(Converter("1.4x", 1.4),))
    assert reach(pieces, A, SPARROW, "web", MARKS).best.converter is None
    far = replace(D, near_m=12, far_m=12)
    helped = reach(pieces, far, SPARROW, "web", MARKS)
    assert helped.rank <= reach(kit(LONG), far, SPARROW, "web", MARKS).rank
    refused = reach(kit(replace(LONG, takes_converter=False), converters=pieces.converters), far, SPARROW, "web", MARKS)
    assert refused.best.converter is None


def test_a_zoom_is_judged_at_its_best_focal_length_and_that_is_named():
    near = replace(A, near_m=3.0, far_m=3.0, water_edge_m=None)
    large = reach(kit(ZOOM), near, Subject("hoopoe", "Hoopoe", 25, 32), "web", MARKS)
    assert large.verdict == "good"
    assert 200 < large.best.focal_mm < 600
    assert large.best.focal_mm == int(large.best.focal_mm)
    assert large.fill <= 0.70
    assert reach(kit(ZOOM), D, GOLDCREST, "web", MARKS).best.focal_mm == 600


def test_autofocus_limits_rule_out_slow_sets_unless_there_is_no_other():
    slow = replace(FULL, af_limit_f=8.0)
    double = (Converter("2x", 2.0),)
    far = replace(D, near_m=20, far_m=20)
    quick = reach(kit(VERY_LONG, bodies=(slow,), converters=double), far, GOLDCREST, "web", MARKS)
    assert quick.best.converter is None  # f/11 does not focus by itself
    only = kit(replace(VERY_LONG, aperture_wide=11, aperture_long=11), bodies=(slow,))
    by_hand = reach(only, far, KITE, "web", MARKS)
    assert "manual_focus" in [one.kind for one in by_hand.warnings]
    assert by_hand.verdict != "fault"


def test_the_output_asks_for_pixels():
    far = replace(D, near_m=14, far_m=14)
    verdicts = [reach(kit(LONG, bodies=(SMALL,)), far, GOLDCREST, output, MARKS).verdict for output in ("web", "a3")]
    assert verdicts[0] in {"needs_crop", "out_of_reach"}
    assert reach(kit(LONG), A, SPARROW, "a3", MARKS).pixels == pytest.approx(140 / 359.88 * 8256, abs=2)
    large = reach(kit(LONG, bodies=(replace(FULL, pixels_wide=4000, pixels_high=2667),)), A, SPARROW, "a3", MARKS)
    assert (large.verdict, large.reason.kind, large.reason.limit) == ("small_file", "few_pixels", 1984)


def test_standing_height_counts_against_the_short_side():
    stork = Subject("stork", "White stork", 100, 115, standing_height_cm=110)
    lying = replace(stork, standing_height_cm=None)
    far = replace(D, near_m=30, far_m=30)
    standing = reach(kit(LONG), far, stork, "web", MARKS)
    assert standing.fill == pytest.approx(1100 / (standing.field_mm * 24 / 36))
    assert standing.fill > reach(kit(LONG), far, lying, "web", MARKS).fill


def test_what_nobody_measured_is_never_a_fault():
    unknown = replace(VERY_LONG, near_limit_m=None)
    found = reach(kit(unknown), replace(A, near_m=1.5, far_m=1.5), SPARROW, "web", MARKS)
    assert found.verdict != "fault"
    assert "near_limit_m" in found.assumed
    guessed = replace(A, assumed=("near_m", "far_m"))
    found = reach(kit(VERY_LONG), guessed, SPARROW, "web", MARKS)
    assert found.verdict != "fault"
    assert "focus_uncertain" in [one.kind for one in found.warnings]
    assert reach(Kit(), A, SPARROW, "web", MARKS).assumed == ("kit",)
    assert reach(Kit(), A, SPARROW, "web", MARKS).factor == 1.0


def test_gear_that_is_typed_in_but_away_is_a_fault_and_not_unknown():
    lent = kit(LONG).without("lens", LONG)
    for lacking, why in ((lent, "no_lens"), (kit(LONG, bodies=()), "no_body"), (Kit(away=("600 mm f/4",)), "no_lens")):
        found = reach(lacking, A, SPARROW, "web", MARKS)
        assert (found.verdict, found.factor, found.reason.kind, found.assumed) == ("fault", 0.0, why, ())
    assert reach(lent, A, SPARROW, "web", MARKS).reason.item == "600 mm f/4"
    offer = Offer(Kit(lenses=(replace(SHORT, key="s"), replace(LONG, key="l"))), losses={"s": 4, "l": 0})
    helps = what_would_help(lent, replace(A, near_m=5.2, far_m=5.2), SPARROW, "web", MARKS, offer)
    assert next(one.key for one in helps if one.spare) == "l"
    body = what_would_help(kit(LONG, bodies=()), A, SPARROW, "web", MARKS, Offer(Kit(bodies=(FULL,))))
    assert [(one.kind, one.item) for one in body] == [("body", FULL.name)]


def test_without_a_subject_only_the_distance_counts():
    assert reach(kit(LONG), A, None, "web", MARKS).verdict == "good"
    assert reach(kit(VERY_LONG), A, None, "web", MARKS).verdict == "fault"


def hide(*views, chances=()):
    """A hide with these views."""
    return Hide("h", "H", Point(39.5, -6.2, 300, "Europe/Madrid"), views, (Seat("s", "left"),), chances=chances)


def test_a_hide_is_a_fault_when_every_view_is():
    far = View("far", "far", 100, 9.0, 9.0)
    likely = (Chance("sparrow", 0.6, 0.3, 0.6, 0.0), Chance("kite", 0.0, 0.0, 0.0, 0.0))
    both = hide_reach(kit(VERY_LONG), hide(A, far, chances=likely), (SPARROW, KITE), Wishes(), MARKS)
    assert not both.fault
    assert both.best.view == "far"
    assert {row.subject for row in both.rows} == {"sparrow"}
    assert hide_reach(kit(VERY_LONG), hide(A, B, chances=likely), (SPARROW,), Wishes(), MARKS).fault
    assert [row.subject for row in hide_reach(kit(LONG), hide(A, B), (SPARROW,), Wishes(), MARKS).rows] == [None, None]


def test_what_would_help_names_the_shortest_tube_another_view_or_a_spare_lens():
    close = replace(A, near_m=4.5, far_m=4.5, water_edge_m=None)
    offer = Offer(
        spare=Kit(lenses=(SHORT, replace(LONG, name="500 mm", focal_max_mm=500, near_limit_m=3.6))), views=(close, C)
    )
    found = what_would_help(kit(LONG), close, SPARROW, "web", MARKS, offer)
    assert {one.kind for one in found} >= {"view", "tube"}
    tube = next(one for one in found if one.kind == "tube")
    assert (tube.size, tube.spare) == (12.0, False)
    assert all(one.reach.verdict == "good" for one in found)
    assert what_would_help(kit(LONG), A, SPARROW, "web", MARKS) == ()


def test_the_groups_own_spare_converter_comes_before_one_nobody_has():
    far = replace(D, near_m=10.5, far_m=10.5)
    assert reach(kit(LONG), far, SPARROW, "web", MARKS).verdict == "needs_crop"
    spare = Offer(spare=Kit(converters=(Converter("club 2x", 2.0, key="k"),)))
    found = what_would_help(kit(LONG), far, SPARROW, "web", MARKS, spare)
    assert [(one.kind, one.item, one.spare, one.key) for one in found if one.kind == "converter"] == [
        ("converter", "club 2x", True, "k")
    ]


bodies = st.builds(
    lambda width, wide: Body("b", width, width * 2 / 3, wide, int(wide * 2 / 3)),
    st.sampled_from([17.3, 22.3, 23.5, 36.0, 44.0]),
    st.integers(3000, 12000),
)
lenses = st.builds(
    lambda focal, zoom, limit: Lens("l", focal / zoom, focal, 5.6, 5.6, near_limit_m=focal * limit / 1000),
    st.floats(200, 900),
    st.sampled_from([1.0, 1.0, 2.0]),
    st.floats(4.0, 10.0),
)
distances = st.floats(1.0, 60.0)
subjects = st.sampled_from([GOLDCREST, SPARROW, KITE, VULTURE])
outputs = st.sampled_from(["web", "30x20", "a3"])


@settings(max_examples=120, deadline=None)
@given(body=bodies, lens=lenses, distance=distances, subject=subjects, output=outputs, more=st.floats(1.0, 3.0))
def test_more_pixels_never_lower_a_verdict(body, lens, distance, subject, output, more):
    view = View("v", "v", 0, distance, distance)
    finer = replace(body, pixels_wide=int(body.pixels_wide * more) + 1, pixels_high=int(body.pixels_high * more) + 1)
    coarse = reach(kit(lens, bodies=(body,)), view, subject, output, MARKS)
    assert reach(kit(lens, bodies=(finer,)), view, subject, output, MARKS).rank <= coarse.rank


def test_a_zoom_goes_past_the_good_part_of_the_frame_where_an_output_asks_for_more_pixels():
    """At 70 % of the frame 1820 pixels are too few for A3, at 200 mm the animal is cut off; in between it fits."""
    few_pixels = Body("few", 17.3, 17.3 * 2 / 3, 3000, 2000)
    found = reach(
        kit(Lens("zoom", 100, 200, 5.6, 5.6), bodies=(few_pixels,)), View("v", "v", 0, 9, 9), VULTURE, "a3", MARKS
    )
    assert found.verdict == "tight"
    assert 0.7 < found.fill <= 1.0
    assert found.pixels >= 1984


ALONG = ("portrait_only", "tight", "good", "needs_crop", "small_file", "out_of_reach")


@settings(max_examples=120, deadline=None)
@given(body=bodies, lens=lenses, near=distances, far=distances, subject=subjects, output=outputs)
def test_verdicts_go_one_way_with_distance_between_the_limits(body, lens, near, far, subject, output):
    near, far = sorted((near, far))
    assume(near >= lens.near_limit_m)
    order = [
        ALONG.index(reach(kit(lens, bodies=(body,)), View("v", "v", 0, at, at), subject, output, MARKS).verdict)
        for at in (near, far)
    ]
    assert order[0] <= order[1]


@settings(max_examples=120, deadline=None)
@given(body=bodies, lens=lenses, distance=distances, subject=st.one_of(st.none(), subjects), guessed=st.booleans())
def test_assumed_values_never_cause_a_fault(body, lens, distance, subject, guessed):
    view = View("v", "v", 0, distance, distance, assumed=("near_m", "far_m") if guessed else ())
    owned = lens if guessed else replace(lens, near_limit_m=None)
    assert reach(kit(owned, bodies=(body,)), view, subject, "web", MARKS).verdict in VERDICTS[:-1]


@settings(max_examples=80, deadline=None)
@given(body=bodies, lens=lenses, distance=distances, subject=subjects, output=outputs)
def test_more_gear_never_lowers_a_verdict(body, lens, distance, subject, output):
    view = View("v", "v", 0, distance, distance)
    richer = kit(lens, SHORT, bodies=(body, FULL), converters=(Converter("x", 1.4),), tubes=(Tube("t", 25),))
    before = reach(kit(lens, bodies=(body,)), view, subject, output, MARKS)
    assert reach(richer, view, subject, output, MARKS).rank <= before.rank


def test_a_zoom_shows_as_much_as_it_can_of_a_subject_larger_than_the_frame():
    body = Body("25 MP four-thirds body", 17.3, 13.0, 5776, 4336)
    zoom = Lens("100-400 mm f/4-6.3", 100, 400, 4, 6.3, near_limit_m=1.3)
    stork = Subject("stork", "White stork", 100, 115)  # field-guide range, from memory
    found = reach(kit(zoom, bodies=(body,)), B, stork, "web", MARKS)
    assert found.verdict == "portrait_only"
    assert found.best is not None
    assert found.best.focal_mm == 100
