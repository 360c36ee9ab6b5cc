"""What would mend a fault of the drives: tried out, so that it is named only where it helps and hurts nothing else."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from trips.core.drives.faults import DriveFault, drive_faults
from trips.core.drives.plan import plan_drives
from trips.core.drives.rounds import in_driving_order
from trips.core.drives.values import Driving, Run, Stop

ORDER, SECOND_RUN, OTHER_CAR, OTHER_DRIVER = "order", "second_run", "other_car", "other_driver"
WITH_A_DRIVER = ("driver_sits", "driver_rides", "driver_twice", "driver_absent", "late")


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change of a session's runs. `kind`: order (`hides`: the new order of drops), second_run (these `hides` go in
    another run of the car), other_car (these `hides` go with `car`), other_driver (`driver`, "" = from outside)."""

    kind: str
    run: Run
    hides: tuple[str, ...] = ()
    car: str = ""
    driver: str = ""


def remedy_for(driving: Driving, fault: DriveFault, spare_drivers: tuple[str, ...] = ()) -> Remedy | None:
    """The first change that takes the fault away and adds none; None where none of those tried does.

    `spare_drivers`: people who could drive, by key. Only the sessions of the fault and their neighbours are judged.
    """
    near = {fault.drive.run.session + step for step in (-1, 0, 1)}
    near |= {fault.other.run.session} if fault.other else set()
    sits = tuple(sit for sit in driving.sits if sit.first in near or sit.last in near)
    sessions = near | {number for sit in sits for number in (sit.first, sit.last)}
    part = replace(driving, runs=tuple(run for run in driving.runs if run.session in sessions), sits=sits)
    before = {one.key for one in drive_faults(part, plan_drives(part))}
    tried = _tried(part, fault, spare_drivers)
    return next((remedy for remedy, after in tried if _helps(before, fault, after)), None)


def _helps(before: set[tuple[object, ...]], fault: DriveFault, after: Driving) -> bool:
    left = {one.key for one in drive_faults(after, plan_drives(after))}
    return fault.key not in left and left <= before


def _tried(driving: Driving, fault: DriveFault, spare: tuple[str, ...]) -> Iterator[tuple[Remedy, Driving]]:
    run = fault.drive.run
    yield from _orders(driving, run)
    yield from _second_runs(driving, run)
    yield from _other_cars(driving, run)
    for driver in (*spare, "") if fault.kind in WITH_A_DRIVER else ():
        if driver != run.driver:
            yield Remedy(OTHER_DRIVER, run, driver=driver), _with(driving, run, replace(run, driver=driver))


def _orders(driving: Driving, run: Run) -> Iterator[tuple[Remedy, Driving]]:
    """By drive time, the other way round, and the driver's own hide last."""
    own = next((stop.hide for stop in run.stops if run.driver and run.driver in stop.out), "")
    near_first = in_driving_order(run.stops)
    for stops in (in_driving_order(run.stops, own), near_first, near_first[::-1]):
        hides = tuple(stop.hide for stop in stops)
        if hides != tuple(stop.hide for stop in run.stops):
            yield Remedy(ORDER, run, hides), _with(driving, run, replace(run, stops=stops))


def _parts(run: Run) -> Iterator[tuple[tuple[Stop, ...], tuple[Stop, ...]]]:
    """(what stays, what goes elsewhere): the nearest or the farthest hides, as few as possible first."""
    stops = in_driving_order(run.stops)
    for number in range(1, len(stops)):
        yield stops[:-number], stops[-number:]
        yield stops[number:], stops[:number]


def _second_runs(driving: Driving, run: Run) -> Iterator[tuple[Remedy, Driving]]:
    number = 1 + max(one.number for one in driving.runs if (one.session, one.car) == (run.session, run.car))
    for kept, moved in _parts(run):
        more = replace(run, stops=moved, number=number)
        remedy = Remedy(SECOND_RUN, run, tuple(stop.hide for stop in moved))
        yield remedy, _with(driving, run, replace(run, stops=kept), more)


def _other_cars(driving: Driving, run: Run) -> Iterator[tuple[Remedy, Driving]]:
    used = {one.car: one for one in driving.runs if one.session == run.session and one.number == 1}
    for car in driving.fleet:
        if car.key == run.car:
            continue
        other = used.get(car.key)
        for kept, moved in [*_parts(run), ((), run.stops)]:
            stops = in_driving_order((*(other.stops if other else ()), *moved))
            taken = replace(other, stops=stops) if other else Run(run.session, car.key, stops, car.driver, 1, car.seats)
            left = (replace(run, stops=kept),) if kept else ()
            remedy = Remedy(OTHER_CAR, run, tuple(stop.hide for stop in moved), car=car.key)
            if other is None:
                yield remedy, _with(driving, run, *left, taken)
            else:
                yield remedy, _with(_with(driving, run, *left), other, taken)


def _with(driving: Driving, run: Run, *instead: Run) -> Driving:
    runs = (one for old in driving.runs for one in (instead if old.key == run.key else (old,)))
    return replace(driving, runs=tuple(runs))
