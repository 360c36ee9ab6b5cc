"""Remedies: each takes its fault away when it is carried out."""

from tests.core.drives.drive_cases import RULES, drawn_driving, stop
from trips.core.drives import Car, Driving, Run, Sit, drive_faults, plan_drives, remedy_for


def remedy(driving, **more):
    fault = drive_faults(driving, plan_drives(driving))[0]
    return remedy_for(driving, fault, **more)


def test_the_drivers_own_hide_goes_last():
    stops = (stop("near", out=("a",), home=("a",)), stop("far", out=("b",), home=("b",)))
    driving = Driving((Run(0, "van", stops, "a"),), (Sit("a", "near", 0, 0), Sit("b", "far", 0, 0)), RULES)
    found = remedy(driving)
    assert (found.kind, found.hides) == ("order", ("far", "near"))


def test_a_car_with_too_few_seats_goes_twice():
    stops = (stop("near", out=("a", "b"), home=("a", "b")), stop("far", window=30, out=("c",), home=("c",)))
    found = remedy(Driving((Run(0, "van", stops, seats=2),), (), RULES))
    assert (found.kind, found.hides) == ("second_run", ("far",))


def test_another_car_of_the_trip_takes_who_has_no_seat():
    far = stop("far", drive_min=12, out=("c",), home=("c",))
    stops = (stop("near", drive_min=9, out=("a", "b"), home=("a", "b")), far)
    fleet = (Car("van", 2), Car("pick-up", 4))
    found = remedy(Driving((Run(0, "van", stops, seats=2),), (), RULES, fleet=fleet))
    assert (found.kind, found.car, found.hides) == ("other_car", "pick-up", ("far",))


def test_another_driver_drives_for_somebody_who_sits():
    lift = Run(0, "two", (stop("far", ends=110, out=("a",), home=("a",)),), "x")
    run = Run(0, "one", (stop("near", ends=100, out=("b",), home=("b",)),), "a")
    driving = Driving((lift, run), (Sit("a", "far", 0, 0), Sit("b", "near", 0, 0)), RULES)
    assert remedy(driving, spare_drivers=("b",)).driver == "b"  # who sits at the last drop, and parks there
    found = remedy(driving)
    assert (found.kind, found.driver) == ("other_driver", "")


def test_a_remedy_that_is_named_helps_and_hurts_nothing():
    named = 0
    for seed in range(80):
        driving = drawn_driving(seed, sessions=2, far_apart=seed % 2)
        for fault in drive_faults(driving, plan_drives(driving))[:2]:
            named += remedy_for(driving, fault, ("x", "z")) is not None
    assert named > 10


def test_nothing_is_named_where_nothing_tried_helps():
    first = Run(0, "van", (stop("far", ends=120, out=("a",), home=("a",)),))
    second = Run(1, "van", (stop("far", 121, 240, out=("a",), home=("a",)),))
    driving = Driving((first, second), (Sit("a", "far", 0, 0), Sit("a", "far", 1, 1)), RULES)
    assert remedy(driving) is None
