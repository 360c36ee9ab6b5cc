"""Limits of a person against what a hide asks for."""

from dataclasses import replace

from trips.core.access import access, smallest_change
from trips.core.values import Hide, Limit, Point, Seat, View

POINT = Point(39.5, -6.2, 300, "Europe/Madrid")


def hide(key, steps, walk_m, **more):
    """A hide with these steps and this walk."""
    return Hide(key, key, POINT, (View("v", "v", 0, 6, 6),), (Seat("s", "s"),), steps=steps, walk_m=walk_m, **more)


A, B, C, D = hide("A", 5, 40), hide("B", 6, 60), hide("C", 0, 300), hide("D", 8, 20)
LIMITS = (Limit("steps", 3), Limit("walk_m", 100))


def test_three_steps_and_a_hundred_metres_leave_no_hide_and_each_says_which_number():
    found = [access(LIMITS, one) for one in (A, B, C, D)]
    assert not any(one.open for one in found)
    assert [[(breach.what, breach.asked, breach.limit) for breach in one.cannot] for one in found] == [
        [("steps", 5, 3)],
        [("steps", 6, 3)],
        [("walk_m", 300, 100)],
        [("steps", 8, 3)],
    ]
    assert smallest_change(tuple(found)).hide == "A"


def test_what_a_person_would_rather_not_do_closes_nothing():
    found = access((Limit("steps", 3, firm=False),), A)
    assert found.open
    assert [breach.what for breach in found.rather_not] == ["steps"]


def test_a_number_nobody_measured_closes_nothing():
    found = access(LIMITS, replace(A, assumed=("steps",)))
    assert found.open
    assert [breach.what for breach in found.unsure] == ["steps"]


def test_the_hardest_entry_and_the_hours_count():
    crawl = replace(C, entry="crawl", walk_m=0.0)
    assert not access((Limit("entry", "stoop"),), crawl).open
    assert access((Limit("entry", "crawl"),), crawl).open
    assert not access((Limit("hours", 3.0),), A, hours=4.0).open
    assert access((Limit("hours", 4.0),), A, hours=4.0).open
    assert access((Limit("hours", 3.0),), A).open


def test_a_limit_met_exactly_is_kept():
    assert access((Limit("steps", 5), Limit("walk_m", 40)), A).open
    assert smallest_change((access((), A),)) is None
