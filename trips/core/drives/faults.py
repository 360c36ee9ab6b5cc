"""What of the drives cannot be driven, and who is away from when to when. Written apart from the planner."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from trips.core.drives.values import FETCH, OUT, Drive, Driving, Sit

CAR_OUT, CAR_WAITS = "car_out", "car_waits"
DRIVER_SITS, DRIVER_RIDES, DRIVER_TWICE, DRIVER_ABSENT = "driver_sits", "driver_rides", "driver_twice", "driver_absent"
RIDER_OUT, TOO_MANY, LATE = "rider_out", "too_many", "late"


@dataclass(frozen=True, slots=True)
class DriveFault:
    """A drive that cannot be driven as planned.

    `kind`: car_out (still on the way of `other`, by `minutes`), car_waits (at `hide` for its driver), driver_sits (in
    `hide`), driver_rides (in another car or on foot to or from `hide`), driver_twice (drives `other` then),
    driver_absent, rider_out (`people` are not back from `hide`, by `minutes`), too_many (`minutes`: people), late
    (people wait in `hide` for `minutes` beyond the window).
    """

    kind: str
    drive: Drive
    other: Drive | None = None
    hide: str = ""
    people: tuple[str, ...] = ()
    minutes: float = 0.0

    @property
    def key(self) -> tuple[object, ...]:
        """What tells faults apart whatever the minutes are."""
        return self.kind, self.drive.kind, self.drive.run.key, self.hide, self.people


@dataclass(frozen=True, slots=True)
class Away:
    """A person from when they leave the lodge to when they are back, and while they are in the hide itself."""

    sit: Sit
    out: Drive
    fetch: Drive
    leaves_at: datetime
    back_at: datetime
    there_at: datetime
    fetched_at: datetime


def drive_faults(driving: Driving, drives: Iterable[Drive]) -> tuple[DriveFault, ...]:
    """All faults, by the moment of the drive."""
    drives = sorted(drives, key=lambda drive: (drive.leaves_at, drive.run.key))
    times = list(aways(driving, drives))
    found = [*_cars(drives), *_drivers(driving, drives, times), *_riders(times), *_late(drives), *_too_many(drives)]
    order = {id(drive): number for number, drive in enumerate(drives)}
    return tuple(sorted(found, key=lambda fault: (order[id(fault.drive)], fault.kind, fault.hide)))


def aways(driving: Driving, drives: Iterable[Drive]) -> Iterator[Away]:
    """Where people are between two drives; somebody whom no drive brings or fetches is left out."""
    by_stop = {
        (drive.run.session, drive.kind, visit.hide, person): (drive, visit)
        for drive in drives
        for visit in drive.visits
        for person in visit.people
    }
    for sit in driving.sits:
        there = by_stop.get((sit.first, OUT, sit.hide, sit.person))
        home = by_stop.get((sit.last, FETCH, sit.hide, sit.person))
        if there is None or home is None:
            continue
        (out, dropped), (fetch, fetched) = there, home
        yield Away(sit, out, fetch, out.leaves_at, fetch.back_at, dropped.at, fetched.at)


def _cars(drives: list[Drive]) -> Iterator[DriveFault]:
    """A car leaves when it is back, and from where it is."""
    latest: dict[str, Drive] = {}
    for drive in drives:
        before = latest.get(drive.run.car)
        if before is not None and drive.leaves_at < before.back_at:
            minutes = (before.back_at - drive.leaves_at).total_seconds() / 60.0
            yield DriveFault(CAR_OUT, drive, before, minutes=minutes)
        elif before is not None and drive.starts_in != before.ends_in:
            yield DriveFault(CAR_WAITS, drive, before, hide=before.ends_in)
        if before is None or drive.back_at >= before.back_at:
            latest[drive.run.car] = drive


def _drivers(driving: Driving, drives: list[Drive], times: list[Away]) -> Iterator[DriveFault]:
    """A driver is there, drives one car at a time, and is neither in a hide nor in another car meanwhile."""
    own: dict[str, list[Drive]] = defaultdict(list)
    away: dict[str, list[Away]] = defaultdict(list)
    for one in times:
        away[one.sit.person].append(one)
    for drive in drives:
        driver = drive.run.driver
        if not driver:
            continue
        if (driver, drive.run.session) in driving.absent:
            yield DriveFault(DRIVER_ABSENT, drive, people=(driver,))
        for before in own[driver]:
            if before.run.car != drive.run.car and _meet(drive, before.leaves_at, before.back_at):
                yield DriveFault(DRIVER_TWICE, drive, before, people=(driver,))
        own[driver].append(drive)
        found = [fault for one in away[driver] for fault in _driver_away(drive, one)]
        yield from [fault for fault in found if fault.kind == DRIVER_SITS] or found


def _driver_away(drive: Drive, one: Away) -> Iterator[DriveFault]:
    """The driver's own stay in a hide against a drive of theirs; on their own way there and back they drive."""
    driver = drive.run.driver
    drove_out, drives_home = one.out.run.driver == driver, one.fetch.run.driver == driver
    if _meet(drive, one.there_at, one.fetched_at):
        yield DriveFault(DRIVER_SITS, drive, hide=one.sit.hide, people=(driver,))
    elif not drove_out and _meet(drive, one.leaves_at, one.there_at):
        yield DriveFault(DRIVER_RIDES, drive, one.out, one.sit.hide, (driver,))
    elif not drives_home and _meet(drive, one.fetched_at, one.back_at):
        yield DriveFault(DRIVER_RIDES, drive, one.fetch, one.sit.hide, (driver,))


def _meet(drive: Drive, start: datetime, end: datetime) -> bool:
    return drive.leaves_at < end and start < drive.back_at


def _riders(times: list[Away]) -> Iterator[DriveFault]:
    """Nobody leaves again before they are back."""
    by_person: dict[str, list[Away]] = defaultdict(list)
    for one in sorted(times, key=lambda one: one.leaves_at):
        by_person[one.sit.person].append(one)
    late: dict[tuple[int, int], list[tuple[str, Away, Away]]] = defaultdict(list)
    for person, own in by_person.items():
        for before, after in pairwise(own):
            if after.leaves_at < before.back_at:
                late[id(before.fetch), id(after.out)].append((person, before, after))
    for found in late.values():
        _, before, after = found[0]
        minutes = (before.back_at - after.leaves_at).total_seconds() / 60.0
        people = tuple(sorted(person for person, _, _ in found))
        yield DriveFault(RIDER_OUT, after.out, before.fetch, before.sit.hide, people, minutes)


def _late(drives: list[Drive]) -> Iterator[DriveFault]:
    """Nobody waits longer beyond their window than the window itself lasts; of a drive the longest wait is told."""
    for drive in drives:
        waits = []
        for stop in drive.run.stops:
            visit = drive.visit(stop.hide) if drive.kind == FETCH else None
            if visit is not None:
                wait_min = (visit.at - stop.pick_up.closes_at).total_seconds() / 60.0
                window_min = (stop.pick_up.closes_at - stop.pick_up.opens_at).total_seconds() / 60.0
                waits += [(wait_min, stop.hide, visit.people)] if wait_min > window_min else []
        if waits:
            minutes, hide, people = max(waits)
            yield DriveFault(LATE, drive, hide=hide, people=people, minutes=minutes)


def _too_many(drives: list[Drive]) -> Iterator[DriveFault]:
    """More people than seats, told once a run: those who ride out mostly ride back."""
    told: dict[tuple[int, str, int], int] = {}
    for drive in drives:
        if drive.too_many > told.get(drive.run.key, 0):
            told[drive.run.key] = drive.too_many
            yield DriveFault(TOO_MANY, drive, minutes=drive.too_many)
