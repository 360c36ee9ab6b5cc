"""Where drivers cannot sit: a driver's seat is tried with people in every other hide, and what breaks is kept."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import timedelta
from functools import cached_property

from trips.assemble.drive_rows import rows_of
from trips.assemble.drives import TripDrives
from trips.assemble.people import place_key
from trips.assemble.trip import TripValues
from trips.core.drives import DriveFault, Driving, Run, Sit, Stop, fault_marks, faults_of_sitting
from trips.core.rota.problem.values import LEADER, Problem, Triple
from trips.documents.wording.drives import DriveNames

Seat = tuple[str, int, int, int]  # driver, hide, first and last session without coming back in between
NEAR = timedelta(hours=6)  # drives of sessions that are further apart do not meet; common practice, no source


def driver_seats(values: TripValues, problem: Problem) -> dict[Triple, str]:
    """(person, session, hide) -> the car that cannot be driven if that driver, LEADER among them, sat there then.

    Two queries where no car is driven by somebody who may sit.
    """
    supposed = _Supposed(values, problem)
    found: dict[Triple, str] = {}
    known: dict[Seat, str] = {}
    for driver, person in supposed.drivers.items():
        for session, hide in supposed.usable:
            if problem.may_sit(person, session, hide):
                seat = (driver, hide, *supposed.span(session, hide))
                if seat not in known:
                    known[seat] = supposed.car_undriven(*seat)
                found |= {(person, session, hide): known[seat]} if known[seat] else {}
    return found


class _Supposed:
    """The drives of a trip as they would be with people in every hide that can be used."""

    def __init__(self, values: TripValues, problem: Problem) -> None:
        self._values, self._problem = values, problem
        self._drives = TripDrives(rows_of(values.trip, values.session_rows, values.hide_rows), None)
        self._joined = {(s, h): (min(group), max(group)) for h, group in problem.joined for s in group}
        self._before: dict[tuple[int, ...], tuple[Driving, frozenset[tuple[object, ...]]]] = {}

    @cached_property
    def usable(self) -> list[tuple[int, int]]:
        """All (session, hide) that are open."""
        sessions, hides = range(len(self._problem.sessions)), range(len(self._problem.hides))
        return [(s, h) for s in sessions for h in hides if (s, h) not in self._problem.closed]

    @cached_property
    def drivers(self) -> dict[str, int]:
        """Who drives and may sit, by the key of a driver."""
        problem = self._problem
        people = {f"place-{place_key(row)}": person for person, row in enumerate(self._values.place_rows)}
        if problem.leader != "never" or any(pin.person == LEADER for pin in problem.pins):
            people[f"leader-{self._values.trip.leader_id}"] = LEADER
        return {key: people[key] for key in sorted(self._drives.driver_keys & set(people))}

    def span(self, session: int, hide: int) -> tuple[int, int]:
        """The sessions through which people stay in a hide without coming back in between."""
        return self._joined.get((session, hide), (session, session))

    def car_undriven(self, driver: str, hide: int, first: int, last: int) -> str:
        """The car that cannot be driven if the driver sat there, "" where all can."""
        sessions = tuple(self._near(first, last))
        if sessions not in self._before:
            empty = self._driving(sessions)
            self._before[sessions] = empty, fault_marks(empty)
        before, marks = self._before[sessions]
        if all(run.driver != driver for run in before.runs):
            return ""
        sit = Sit(driver, self._values.hides[hide].key, first, last)
        faults = faults_of_sitting(marks, self._driving(sessions, sit))
        return self._car(driver, faults[0], before.runs) if faults else ""

    def _near(self, first: int, last: int) -> Iterator[int]:
        """The sessions whose drives may meet those of these."""
        rows = self._values.sessions
        for number, row in enumerate(rows):
            if row.starts_at < rows[last].ends_at + NEAR and row.ends_at > rows[first].starts_at - NEAR:
                yield number

    def _driving(self, sessions: Iterable[int], sit: Sit | None = None) -> Driving:
        rows = self._values.session_rows
        runs = [run for n in sessions for run in self._drives.session_runs(rows[n], self._stops(n, sit))]
        return Driving(tuple(runs), (sit,) if sit else (), self._drives.rules)

    def _stops(self, session: int, sit: Sit | None) -> Iterator[Stop]:
        """Every open hide, with somebody in it who is nobody else's, and the driver in theirs."""
        for when, hide in self.usable:
            if when == session:
                stop = self._empty[session, hide]
                first, last = self.span(session, hide)
                people = (f"anybody-{first}-{hide}", *((sit.person,) if sit and sit.hide == stop.hide else ()))
                is_theirs = sit is not None and (first, last) == (sit.first, sit.last)
                people = people if is_theirs else people[:1]
                yield replace(stop, out=people if session == first else (), home=people if session == last else ())

    @cached_property
    def _empty(self) -> dict[tuple[int, int], Stop]:
        values = self._values
        return {(s, h): self._drives.stop(values.session_rows[s], values.hide_rows[h]) for s, h in self.usable}

    def _car(self, driver: str, fault: DriveFault, runs: Iterable[Run]) -> str:
        """What they drive then: the car of the fault, else one of theirs."""
        own = [run for run in runs if run.driver == driver]
        run = next((run for run in own if run.key == fault.drive.run.key), own[0])
        return DriveNames(cars={str(car.uuid): car.name for car in self._drives.cars}).car(run.car)
