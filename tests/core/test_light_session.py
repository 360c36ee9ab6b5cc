"""Light of sessions in known hides: classes, shadows, warnings, scores."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from participants.core.errors import BadValue
from tests.core.light_sessions import DEFAULTS, POINT, A, B, C, D, hide
from trips.core import light
from trips.core.light.geometry import classes, light_angle_deg
from trips.core.light.score import ViewSun, direction_factor, height_factor, lights_of, scored
from trips.core.sun import SunTrack, track
from trips.core.values import SKIES, Session

ZONE = ZoneInfo("Europe/Madrid")


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2027, 5, 8, hour, minute, tzinfo=ZONE)


EARLY = Session("early", "early", at(6, 45), at(10, 45), kind="early")
LATE = Session("late", "late", at(17, 30), at(21, 30), kind="late")


@pytest.mark.parametrize(
    ("hour", "minute", "angles", "names"),
    [
        (7, 50, (1.9, 151.9, 108.1), ("front", "back", "side")),
        (9, 30, (17.1, 167.1, 92.9), ("front", "back", "side")),
        (19, 0, (158.9, 8.9, 91.1), ("back", "front", "side")),
        (20, 55, (141.5, 8.5, None), ("back", "front", None)),
        (14, 30, (None, None, None), ("top", "top", "top")),
    ],
)
def test_classes_of_the_base_day(hour: int, minute: int, angles: tuple, names: tuple) -> None:
    sun = track(POINT.latitude_deg, POINT.longitude_deg, np.array([at(hour, minute).timestamp()]))
    for place, angle, name in zip((A, B, D), angles, names, strict=True):
        view = place.views[0]
        if angle is not None:
            assert float(light_angle_deg(sun.azimuth_deg, view.bearing_deg)[0]) == pytest.approx(angle, abs=0.5)
        if name is not None:
            assert light.CLASS_NAMES[classes(sun, view, DEFAULTS)[0]] == name


def test_a_hide_with_two_views_is_good_early_and_late() -> None:
    early, late = light.session_light(C, EARLY), light.session_light(C, LATE)
    assert early.best_view.view.bearing_deg == 250.0
    assert late.best_view.view.bearing_deg == 100.0
    assert early.score > 0.75
    assert late.score > 0.75
    assert min(early.good_minutes, late.good_minutes) >= 60.0
    assert np.array_equal(early.scores, np.max([view.scores for view in early.views], axis=0))
    assert early.best_intervals[0].starts_at == EARLY.starts_at
    assert early.best_intervals[-1].ends_at == EARLY.ends_at


def test_the_early_hide_is_good_early_and_poor_late() -> None:
    assert light.session_light(A, EARLY).score > 2 * light.session_light(B, EARLY).score
    assert light.session_light(B, LATE).score > 2 * light.session_light(A, LATE).score


def test_the_hides_shadow_reaches_the_water_and_the_time_it_clears_is_said() -> None:
    found = light.session_light(A, EARLY)
    [water] = [caution for caution in found.cautions if caution.kind == "shadow_on_water"]
    assert water.starts_at <= at(7, 50) <= water.ends_at
    assert abs((water.ends_at - at(7, 57)).total_seconds()) < 90.0
    assert water.clears
    perch = [caution for caution in found.cautions if caution.kind == "shadow_on_perch"]
    assert all(caution.ends_at < at(7, 50) for caution in perch)


def test_a_lens_that_looks_at_the_rising_sun_is_warned_with_times() -> None:
    place = hide("e", 68.0)
    [caution] = [found for found in light.session_light(place, EARLY).cautions if found.kind == "sun_in_frame"]
    assert caution.starts_at < caution.ends_at < at(7, 35)
    wide = light.session_light(place, EARLY, framing=light.Framing(24.0))
    [longer] = [found for found in wide.cautions if found.kind == "sun_in_frame"]
    assert longer.ends_at - longer.starts_at > caution.ends_at - caution.starts_at


def test_a_hill_keeps_the_light_off_the_perch_until_it_clears() -> None:
    place = hide("f", 250.0)
    place = replace(place, views=(replace(place.views[0], horizon=((0.0, 0.0), (74.5, 8.2), (150.0, 0.0))),))
    found = light.session_light(place, EARLY)
    [hill] = [caution for caution in found.cautions if caution.kind == "behind_horizon"]
    assert abs((hill.ends_at - at(8, 7)).total_seconds()) < 120.0
    assert found.views[0].lit[0].starts_at == hill.ends_at
    assert found.views[0].intervals[0].name == "none"


def test_a_change_of_class_is_told_with_its_time_and_both_classes() -> None:
    [change] = [found for found in light.session_light(D, EARLY).cautions if found.kind == "class_changes"]
    assert (change.before, change.after) == ("none", "side")
    assert abs((change.starts_at - datetime(2027, 5, 8, 7, 18, 10, tzinfo=ZONE)).total_seconds()) < 1.0


@pytest.mark.parametrize(
    ("wind", "warned"), [(70.0, True), (115.0, True), (116.0, False), (250.0, False), (None, False)]
)
def test_wind_from_behind_the_seat_is_told_where_scent_matters(wind: float | None, warned: bool) -> None:
    windy = replace(EARLY, wind_from_deg=wind)
    for matters in (True, False):
        found = light.session_light(replace(A, scent_matters=matters), windy)
        assert any(caution.kind == "scent" for caution in found.cautions) == (warned and matters)


def test_samples_start_at_the_start_and_stop_before_the_end() -> None:
    samples = light.session_light(A, EARLY).views[0].samples
    assert len(samples) == 48
    assert samples[0].moment == EARLY.starts_at
    assert samples[-1].moment == EARLY.ends_at - timedelta(minutes=5)
    assert all(sample.ev100 is not None for sample in samples)


def test_a_session_across_the_clock_change_counts_real_minutes() -> None:
    night = Session(
        "n", "n", datetime(2027, 10, 31, 0, 30, tzinfo=ZONE), datetime(2027, 10, 31, 8, 30, tzinfo=ZONE), kind="night"
    )
    assert light.session_light(A, night).scores.size == 9 * 12


def test_the_session_score_is_the_best_hour_and_a_half() -> None:
    found = light.session_light(A, EARLY)
    means = [found.scores[start : start + 18].mean() for start in range(found.scores.size - 17)]
    assert found.score == pytest.approx(max(means))
    short = light.session_light(A, replace(EARLY, starts_at=at(8), ends_at=at(8, 40)))
    assert short.score == pytest.approx(short.scores.mean())
    assert short.scores.size == 8
    assert found.good_minutes == 5.0 * np.count_nonzero(found.scores >= 0.6)


def test_lamps_light_the_night_and_glass_takes_light() -> None:
    night = Session("n", "n", at(22, 30), at(23, 30), kind="night")
    assert light.session_light(A, night).score == 0.0
    lamps = light.session_light(replace(A, lamp_lit=True), night)
    assert lamps.score == pytest.approx(0.8)
    assert lamps.views[0].samples[-1].ev100 is None
    glass = replace(A, views=(replace(A.views[0], glass_loss_stops=1.5, light_offset_stops=0.25),))
    plain, behind = (light.session_light(place, EARLY).views[0].ev100 for place in (A, glass))
    assert np.allclose(plain - behind, 1.25)


def test_skies_order_as_they_should() -> None:
    by_sky = {sky: light.session_light(A, replace(EARLY, sky=sky)) for sky in SKIES}
    assert by_sky["clear"].score > by_sky["partly"].score > by_sky["overcast"].score
    assert by_sky["overcast"].score == pytest.approx(0.4)
    clear = by_sky["partly"].views[0]
    assert clear.scores.max() <= 0.7 + 1e-9


def test_height_and_direction_marks_are_met_and_joined_by_lines() -> None:
    for height, value in DEFAULTS.height_scoring:
        assert height_factor(height, DEFAULTS) == pytest.approx(value)
    assert height_factor(4.0, DEFAULTS) == pytest.approx(0.95)
    assert height_factor(-30.0, DEFAULTS) == 0.0
    for wish, factors in (("front", DEFAULTS.wish_front), ("side", DEFAULTS.wish_side), ("back", DEFAULTS.wish_back)):
        for angle, value in zip((0.0, 45.0, 90.0, 180.0), factors, strict=True):
            assert direction_factor(angle, wish, DEFAULTS) == pytest.approx(value)
    assert direction_factor(135.0, "front", DEFAULTS) == pytest.approx(0.3)
    assert direction_factor(100.0, "any", DEFAULTS) == 1.0
    with pytest.raises(BadValue):
        direction_factor(0.0, "rim", DEFAULTS)


def test_a_score_worked_by_hand() -> None:
    """Sun 9 deg high, 60 deg off the seat's back on the horizon: b = 60.4 deg, D = 0.829; H = 1; EV far above 9."""
    sun = SunTrack(np.zeros(1), np.array([130.0]), np.array([9.0]), np.array([9.1]))
    view = A.views[0]
    seen = ViewSun(sun, A, view, np.array([False]))
    found = scored(seen, lights_of(sun, "clear"), "front", DEFAULTS).scores[0]
    off = np.degrees(np.arccos(np.cos(np.radians(9.0)) * np.cos(np.radians(60.0))))
    assert off == pytest.approx(60.4, abs=0.05)
    assert found == pytest.approx(1.0 - 0.5 * (off - 45.0) / 45.0)
    shaded = scored(ViewSun(sun, A, view, np.array([True])), lights_of(sun, "clear"), "front", DEFAULTS)
    assert shaded.scores[0] == pytest.approx(0.3)


def test_settings_are_obeyed() -> None:
    narrow = replace(DEFAULTS, front_deg=1.0, top_deg=20.0)
    names = {interval.name for interval in light.session_light(A, EARLY, settings=narrow).views[0].intervals}
    assert names == {"none", "side", "top", "front"}
    coarse = light.session_light(A, EARLY, settings=replace(DEFAULTS, step_min=10.0, best_samples=9))
    assert coarse.scores.size == 24


def test_batches_and_single_sessions_agree() -> None:
    found = light.trip_light([A, C], [EARLY, replace(LATE, sky="partly")], "side")
    tables = light.trip_scores([A, C], [EARLY, replace(LATE, sky="partly")], ("side", "any"))
    for place in (A, C):
        alone = light.session_light(place, replace(LATE, sky="partly"), "side")
        together = found[place.key, "late"]
        assert np.allclose(alone.scores, together.scores)
        assert [view.intervals for view in alone.views] == [view.intervals for view in together.views]
        assert np.allclose(tables[place.key, "late", "side"], [view.scores for view in alone.views])
        assert np.allclose(
            light.moment_scores(place, replace(LATE, sky="partly"), "side"), tables[place.key, "late", "side"]
        )
    assert light.trip_light([A], []) == {}


def test_a_hide_without_views_has_no_light() -> None:
    found = light.session_light(replace(A, views=()), EARLY)
    assert (found.views, found.score, found.good_minutes, found.cautions) == ((), 0.0, 0.0, ())


def test_wrong_words_are_refused() -> None:
    with pytest.raises(BadValue):
        light.session_light(A, EARLY, "rim")
    with pytest.raises(BadValue):
        light.session_light(A, replace(EARLY, sky="fog"))
