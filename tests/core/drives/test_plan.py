"""The drives of a trip against every small case tried out, and worked by hand where words help."""

from dataclasses import replace

import pytest

from tests.core.drives.drive_cases import RULES, at, drawn_driving, minute, out_truth, pick_up_truth, stop, way
from trips.core.drives import Driving, Run, Sit, drive_faults, plan_drives
from trips.core.drives.faults import CAR_OUT

CASES = range(150)


def outs(drives):
    return [drive for drive in drives if drive.kind == "out"]


def fetches(drives):
    return [drive for drive in drives if drive.kind == "fetch"]


def test_cars_and_drivers_leave_as_late_as_any_plan_that_can_be_driven():
    found = 0
    for seed in CASES:
        driving = drawn_driving(seed)
        best = out_truth(driving)
        if best is None:
            continue
        found += 1
        assert sum(minute(drive.leaves_at) for drive in outs(plan_drives(driving))) == best, seed
    assert found > 60


def test_nobody_waits_longer_for_one_car_than_the_best_order_and_minute_need():
    for seed in CASES:
        (run,) = drawn_driving(seed, cars=1).runs[:1]
        stops = tuple(one for one in run.stops if one.home)
        if not stops:
            continue
        alone = Driving((replace(run, stops=stops, driver=""),), (), RULES)
        drives = fetches(plan_drives(alone))
        late = sum(
            max(0, minute(v.at) - minute(o.pick_up.closes_at))
            for d in drives
            for v in d.visits
            for o in stops
            if o.hide == v.hide
        )
        if len(drives) == 1:
            assert late == pick_up_truth(stops), seed
        assert all(v.at >= o.pick_up.opens_at for d in drives for v in d.visits for o in stops if o.hide == v.hide)


def test_two_rounds_of_a_car_fetch_everybody_in_time_where_any_plan_does():
    for first_window in range(3, 14):
        for second_window in range(3, 14, 2):
            runs = [
                Run(0, "one", (stop("far", window=first_window, home=("a",), out=("a",)),), number=1),
                Run(0, "one", (stop("mid", window=second_window, home=("b",), out=("b",)),), number=2),
            ]
            drives = fetches(plan_drives(Driving(tuple(runs), (), RULES)))
            late = sum(max(0, minute(drive.visits[0].at) - 120) for drive in drives)
            lengths = [way(None, run.stops) for run in runs]
            in_time = any(
                one + lengths[0][1] <= other or other + lengths[1][1] <= one
                for one in range(120 - first_window - 3, 120 - 3 + 1)
                for other in range(120 - second_window - 2, 120 - 2 + 1)
            )
            assert (late == 0) == in_time, (first_window, second_window)


def test_the_car_is_back_for_the_next_session_wherever_any_pick_up_allows_it():
    for gap in range(4, 30):
        for window in (3, 6, 12):
            hides = [stop(hide, 60, 120, window=window, home=("a",), out=("a",)) for hide in ("near", "far")]
            later = stop("mid", 120 + gap, 240, out=("b",), home=("b",))
            driving = Driving((Run(0, "one", tuple(hides)), Run(1, "one", (later,))), (), RULES)
            leaves_again = 120 + gap - 2 - 1 - 2
            possible = pick_up_truth(hides, back_by=leaves_again) == 0
            faults = [fault for fault in drive_faults(driving, plan_drives(driving)) if fault.kind == CAR_OUT]
            if possible:
                assert not faults, (gap, window)
            elif leaves_again < 120 - window + 3:
                assert faults, (gap, window)


def test_a_pick_up_at_10_45_25_minutes_away_leaves_the_lodge_at_10_20():
    """All minutes after 06:00: the session ends at 285 (10:45)."""
    one = stop("D", 60, 285, window=15, drive_min=25, out=("a",), home=("a",))
    (fetch,) = fetches(plan_drives(Driving((Run(0, "van", (one,)),), (), RULES)))
    assert minute(fetch.leaves_at) == 285 - 25
    assert minute(fetch.back_at) == 285 + 1 + 25


def test_a_second_round_begins_when_the_car_is_back():
    """The second leaves at 60 - 2 - 1 - 3 = 54; the first needs 2 out, 1 there, 2 home, so it leaves at 49."""
    first = Run(0, "van", (stop("mid", out=("a",), home=("a",)),), number=1)
    second = Run(0, "van", (stop("far", out=("b",), home=("b",)),), number=2)
    one, two = outs(plan_drives(Driving((first, second), (), RULES)))
    assert (minute(one.leaves_at), minute(one.back_at), minute(two.leaves_at)) == (49, 54, 54)


def test_a_driver_who_photographs_parks_at_the_last_drop_and_fetches_from_there():
    stops = (stop("near", out=("b",), home=("b",)), stop("far", out=("a", "c"), home=("a", "c")))
    driving = Driving((Run(0, "van", stops, "a", seats=2),), (Sit("a", "far", 0, 0), Sit("b", "near", 0, 0)), RULES)
    out, fetch = plan_drives(driving)
    assert (out.ends_in, out.back_at, out.too_many) == ("far", out.visits[-1].at, 0)
    assert (fetch.starts_in, [visit.hide for visit in fetch.visits]) == ("far", ["far", "near"])
    assert not drive_faults(driving, (out, fetch))


def test_hides_whose_windows_do_not_meet_are_fetched_one_after_the_other():
    stops = (stop("near", ends=100, out=("a",), home=("a",)), stop("far", ends=160, out=("b",), home=("b",)))
    early, late = fetches(plan_drives(Driving((Run(0, "van", stops),), (), RULES)))
    assert (minute(early.visits[0].at), minute(late.visits[0].at)) == (100, 160)


@pytest.mark.parametrize("hides", [4, 5, 6, 8])
def test_many_hides_of_one_car_are_fetched_in_few_orders(hides):
    stops = tuple(stop(f"h{n}", drive_min=n, window=30, out=(str(n),), home=(str(n),)) for n in range(hides))
    (fetch,) = fetches(plan_drives(Driving((Run(0, "van", stops),), (), RULES)))
    assert sorted(visit.hide for visit in fetch.visits) == [one.hide for one in stops]
    assert all(at(90) <= visit.at <= at(120) for visit in fetch.visits)
