"""Hides that a driver is kept out of, against every way in which others may sit, looked at minute by minute."""

from dataclasses import replace
from functools import cache
from itertools import combinations
from random import Random

from tests.core.drives.drive_cases import DRIVES, RULES, conflicts_truth, minute, stop
from trips.core.drives import Driving, Run, Sit, fault_marks, faults_of_sitting, plan_drives

OF_A_DRIVER = {"driver_sits", "driver_rides", "driver_twice", "car_out"}
SEEDS = range(24)


def drawn_runs(seed):
    """Three hides in one session, or two soon after each other, in up to three runs of two cars; "a" drives some."""
    draw = Random(seed)
    runs = []
    for session in range(draw.choice((1, 1, 1, 2))):
        starts = 60 + session * draw.choice((62, 68, 80))
        own = {key: [] for key in (("one", 1), ("one", 2), ("two", 1))}
        for hide in draw.sample(sorted(DRIVES), 3 - session):
            own[draw.choice(list(own))].append(stop(hide, starts, starts + 50, window=draw.choice((3, 8))))
        for (car, number), stops in own.items():
            driver = draw.choice(("a", "x")) if car == "one" else draw.choice(("a", "y", "y"))
            runs += [Run(session, car, tuple(stops), driver, number)] if stops else []
    return tuple(runs)


def seated(runs, hides, sit=None):
    """The drives with somebody in these (session, hide), and the driver in theirs."""

    def people(run, hide):
        theirs = sit is not None and (run.session, hide) == (sit.first, sit.hide)
        others = (f"{run.session}-{hide}",) if (run.session, hide) in hides else ()
        return (*others, *((sit.person,) if theirs else ()))

    def filled(run):
        return tuple(replace(s, out=people(run, s.hide), home=people(run, s.hide)) for s in run.stops)

    kept = tuple(replace(run, stops=filled(run)) for run in runs)
    return Driving(kept, (sit,) if sit else (), RULES)


@cache
def broken(driving):
    """What collides for a driver, and who is fetched later than they may be, found without `drive_faults`."""
    drives = plan_drives(driving)
    found = {one for one in conflicts_truth(driving, drives) if one[0] in OF_A_DRIVER} if drives else set()
    for drive in drives:
        for one in drive.run.stops if drive.kind == "fetch" else ():
            visit = drive.visit(one.hide)
            late = minute(visit.at) - minute(one.pick_up.closes_at) if visit else 0
            if late > minute(one.pick_up.closes_at) - minute(one.pick_up.opens_at):
                found.add(("late", drive.kind, drive.run.key, one.hide))
    return found


def test_a_driver_may_sit_where_no_way_of_seating_the_others_breaks_a_drive_and_nowhere_else():
    allowed = refused = 0
    for seed in SEEDS:
        runs = drawn_runs(seed)
        places = [(run.session, one.hide) for run in runs for one in run.stops]
        marks, before = fault_marks(seated(runs, places)), broken(seated(runs, places))
        for session, hide in places:
            sit = Sit("a", hide, session, session)
            if faults_of_sitting(marks, seated(runs, places, sit)):
                refused += 1
                assert broken(seated(runs, places, sit)) - before, (seed, session, hide)
                continue
            allowed += 1
            for number in range(len(places) + 1):
                for used in combinations(places, number):
                    somebody_else = seated(runs, (*used, (session, hide)))
                    new = broken(seated(runs, used, sit)) - broken(somebody_else)
                    assert not new, (seed, session, hide, used, new)
    assert allowed > 20
    assert refused > 20
