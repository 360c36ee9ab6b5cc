"""Points of a turn, by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trips.core.rota.problem.points import Seen, best_stretch, turn_factors, view_factor, wish_sum, wish_weight


def test_full_light_full_reach_and_the_best_wish_make_a_hundred_points():
    assert turn_factors(np.ones((1, 48)), [1.0], 1.0).points == 100.0


def test_no_wished_subject_keeps_a_fifth():
    assert turn_factors(np.ones((1, 48)), [1.0], 0.0).points == 20.0


def test_the_dial_weighs_animals_against_light():
    dark = np.zeros((1, 48))
    assert turn_factors(dark, [1.0], 1.0, light_dial=0.0).points == 100.0
    assert turn_factors(dark, [1.0], 1.0, light_dial=0.5).points == 50.0
    assert turn_factors(dark, [1.0], 1.0, light_dial=1.0).points == 0.0


def test_the_best_ninety_minutes_count():
    light = np.zeros((1, 48))
    light[0, 10:28] = 1.0
    factors = turn_factors(light, [1.0], 1.0)
    assert factors.points == 100.0
    assert factors.light == 1.0


def test_a_session_shorter_than_ninety_minutes_counts_as_a_whole():
    light = np.array([[1.0, 1.0, 0.0, 0.0]])
    assert turn_factors(light, [1.0], 1.0, light_dial=1.0).points == 50.0


def test_at_each_moment_the_better_view_counts():
    light = np.array([[1.0] * 9 + [0.0] * 9, [0.0] * 9 + [1.0] * 9])
    assert turn_factors(light, [1.0, 1.0], 1.0).points == 100.0
    assert turn_factors(light, [1.0, 0.0], 1.0).points == 75.0


def test_a_fault_in_every_view_makes_no_points():
    assert turn_factors(np.ones((2, 20)), [0.0, 0.0], 1.0).points == 0.0


def test_rather_not_halves():
    assert turn_factors(np.ones((1, 20)), [1.0], 1.0, halved=True).points == 50.0


def test_a_hide_without_views_has_no_points():
    assert turn_factors(np.zeros((0, 20)), [], 1.0).points == 0.0


def test_reach_is_averaged_by_marks_and_chance():
    seen = [Seen("a", 0.9, 1.0), Seen("b", 0.3, 0.3)]
    assert view_factor(seen, {"a": 1, "b": 3}, 1.0) == pytest.approx((0.9 + 0.27) / 1.8)


def test_subjects_without_marks_count_one_mark_in_all():
    seen = [Seen("a", 0.6, 1.0), Seen("b", 0.6, 0.5), Seen("c", 0.6, 0.0)]
    assert view_factor(seen, {"a": 1}, 1.0) == pytest.approx((1.0 + 0.5 * 0.5) / 2)


@pytest.mark.parametrize("seen", [[], [Seen("a", 0.0, 0.4)]])
def test_with_nothing_to_average_the_distance_alone_counts(seen):
    assert view_factor(seen, {"a": 3}, 0.0) == 0.0
    assert view_factor(seen, {}, 1.0) == 1.0


def test_wishes_are_measured_against_the_best_of_the_trip():
    assert wish_sum({"a": 2, "b": 1}, {"a": 0.5, "c": 0.9}) == 1.0
    assert wish_weight(1.0, 4.0) == 0.25
    assert wish_weight(0.0, 0.0) == 1.0


@given(st.lists(st.floats(0, 1), min_size=1, max_size=60))
def test_the_best_stretch_is_no_less_than_any_other(values):
    samples = np.array(values)
    best, start = best_stretch(samples)
    for other in range(max(1, samples.size - 17)):
        assert best >= samples[other : other + 18].mean() - 1e-9
    assert best == pytest.approx(samples[start : start + 18].mean())


@given(
    st.integers(1, 3).flatmap(
        lambda views: st.tuples(
            st.lists(st.lists(st.floats(0, 1), min_size=25, max_size=25), min_size=views, max_size=views),
            st.lists(st.sampled_from([0, 0.3, 0.7, 1]), min_size=views, max_size=views),
        )
    ),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_points_stay_between_nothing_and_a_hundred(views, wish, dial):
    light, reaches = views
    factors = turn_factors(np.array(light), reaches, wish, light_dial=dial)
    assert 0.0 <= factors.points <= 100.0
