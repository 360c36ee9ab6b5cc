"""Faults of drives against a look at every minute, and the meals that people are not back for."""

from tests.core.drives.drive_cases import RULES, at, conflicts_truth, drawn_driving, stop
from trips.core.drives import Driving, Run, Sit, aways, drive_faults, plan_drives

JUDGED = {"car_out", "driver_sits", "driver_rides", "driver_twice", "rider_out"}


def kinds(driving):
    return [fault.kind for fault in drive_faults(driving, plan_drives(driving))]


def test_what_collides_is_what_a_look_at_every_minute_finds():
    seen = set()
    for seed in range(250):
        driving = drawn_driving(seed, sessions=2, far_apart=seed % 2)
        drives = plan_drives(driving)
        found = {
            (fault.kind, fault.drive.kind, fault.drive.run.key, who)
            for fault in drive_faults(driving, drives)
            if fault.kind in JUDGED
            for who in fault.people or ("",)
        }
        assert found == conflicts_truth(driving, drives), seed
        seen |= {kind for kind, *_ in found}
    assert seen == JUDGED


def sat(*people, hide="far"):
    return tuple(Sit(who, hide, 0, 0) for who in people)


def test_a_driver_who_sits_at_an_earlier_drop_cannot_drive_on():
    stops = (stop("near", out=("a",), home=("a",)), stop("far", out=("b",), home=("b",)))
    driving = Driving((Run(0, "van", stops, "a"),), (*sat("a", hide="near"), *sat("b")), RULES)
    assert kinds(driving) == ["driver_sits", "driver_sits"]


def test_a_driver_whom_another_car_drops_later_drives_before_and_fetches_once_back():
    lift = Run(0, "two", (stop("far", 60, out=("a",), home=("a",)),), "x")
    before = Run(0, "one", (stop("near", 60, ends=130, out=("b",)),), "a")
    assert kinds(Driving((lift, before), sat("a"), RULES)) == []
    fetching = Run(0, "one", (stop("near", 60, out=("b",), home=("b",)),), "a")
    assert kinds(Driving((lift, fetching), (*sat("a"), *sat("b", hide="near")), RULES)) == []
    both = Run(0, "one", (stop("near", 60, ends=100, out=("b",), home=("b",)),), "a")
    assert kinds(Driving((lift, both), (*sat("a"), *sat("b", hide="near")), RULES)) == ["late"]


def test_two_cars_that_each_bring_the_others_driver_cannot_be_driven():
    one = Run(0, "one", (stop("near", out=("b",), home=("b",)),), "a")
    two = Run(0, "two", (stop("far", out=("a",), home=("a",)),), "b")
    assert set(kinds(Driving((one, two), (*sat("a"), *sat("b", hide="near")), RULES))) <= {
        "driver_rides",
        "driver_sits",
    }
    assert kinds(Driving((one, two), (*sat("a"), *sat("b", hide="near")), RULES))


def test_somebody_who_is_not_there_cannot_drive():
    run = Run(0, "van", (stop("far", out=("b",), home=("b",)),), "a")
    driving = Driving((run,), sat("b"), RULES, absent=frozenset({("a", 0)}))
    assert kinds(driving) == ["driver_absent", "driver_absent"]


def test_a_car_that_waits_for_its_driver_over_the_break_is_not_at_the_lodge():
    first = Run(0, "van", (stop("far", out=("a",)),), "a")
    second = Run(1, "van", (stop("near", 200, 300, out=("b",), home=("b",)), stop("far", 200, 300, home=("a",))), "x")
    found = kinds(Driving((first, second), (Sit("a", "far", 0, 1), Sit("b", "near", 1, 1)), RULES))
    assert "car_waits" in found


def test_too_many_people_are_told_once_a_run():
    run = Run(0, "van", (stop("far", out=("a", "b", "c"), home=("a", "b", "c")),), seats=2)
    (fault,) = drive_faults(Driving((run,), sat("a", "b", "c"), RULES), plan_drives(Driving((run,), (), RULES)))
    assert (fault.kind, fault.minutes) == ("too_many", 1)


def test_a_long_wait_beyond_the_window_is_a_fault():
    runs = tuple(
        Run(0, "van", (stop(hide, out=(hide,), home=(hide,)),), number=number)
        for number, hide in enumerate(("near", "mid", "far"), start=1)
    )
    assert "late" in kinds(Driving(runs, (), RULES))


def test_people_are_away_from_when_the_car_leaves_to_when_it_is_back():
    """In place at 60, due at 120; the far hide is 3 min away and fetching takes a minute: back at 124."""
    run = Run(0, "van", (stop("far", out=("a", "b"), home=("a", "b")),))
    driving = Driving((run,), sat("a", "b"), RULES)
    found = list(aways(driving, plan_drives(driving)))
    assert {(away.leaves_at, away.there_at, away.fetched_at, away.back_at) for away in found} == {
        (at(54), at(57), at(120), at(124))
    }
