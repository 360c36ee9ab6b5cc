"""Runs of cars as plain values: who rides, who drives, and the drives that they become."""

from dataclasses import dataclass, field
from datetime import datetime

from trips.core.drives.windows import PickUp

SET_UP_MIN = 15.0  # tripod, lens and net; common practice, no source
STOP_MIN = 5.0  # two people with bags out of a car or into it; common practice, no source
OUT, FETCH = "out", "fetch"


@dataclass(frozen=True, slots=True)
class Stop:
    """A hide on a car's round.

    `drive_min`, `walk_min`: from the lodge to the drop and from there to the seat, minutes, >= 0. `in_place_at`: when
    people are to sit. `pick_up`: the window in which they may be fetched, `due_at`: when they should be (within it).
    `drop_min`: minutes the car stands here, None = the trip's rule. `out`, `home`: who rides there and back, by key.
    """

    hide: str
    in_place_at: datetime
    pick_up: PickUp
    due_at: datetime
    drive_min: float = 0.0
    walk_min: float = 0.0
    drop_min: float | None = None
    out: tuple[str, ...] = ()
    home: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """A car's round in a session: it drops people in the order of its stops, and fetches them.

    `session`: index in order of start. `number`: 1 for the car's first run of the session. `driver`: a person's key,
    "" = not settled. `seats`: beside the driver's, None = room for all.
    """

    session: int
    car: str
    stops: tuple[Stop, ...]
    driver: str = ""
    number: int = 1
    seats: int | None = None

    @property
    def key(self) -> tuple[int, str, int]:
        """What tells runs apart."""
        return self.session, self.car, self.number


@dataclass(frozen=True, slots=True)
class Sit:
    """A person in a hide from the session of index `first` to the end of `last` without coming back in between."""

    person: str
    hide: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Car:
    """A car of the trip with its usual driver. `seats`: beside the driver's."""

    key: str
    seats: int
    driver: str = ""


@dataclass(frozen=True, slots=True)
class DriveRules:
    """`set_up_min`: from reaching the seat to being ready. `stop_min`: how long a car stands at a drop or pick-up."""

    set_up_min: float = SET_UP_MIN
    stop_min: float = STOP_MIN


@dataclass(frozen=True, slots=True)
class Driving:
    """All runs of a trip with the people who sit, its cars, and (person, session) of those who are not there."""

    runs: tuple[Run, ...]
    sits: tuple[Sit, ...] = ()
    rules: DriveRules = field(default_factory=DriveRules)
    absent: frozenset[tuple[str, int]] = frozenset()
    fleet: tuple[Car, ...] = ()


@dataclass(frozen=True, slots=True)
class Visit:
    """A car at a hide: when it gets there, and who gets out or in."""

    hide: str
    at: datetime
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drive:
    """A car on the road, out or to fetch, from the lodge to the lodge.

    `starts_in`, `ends_in`: the hide where the car waits instead, because its driver sits there. `back_at`: when the
    drive is over. `too_many`: people without a seat.
    """

    kind: str
    run: Run
    leaves_at: datetime
    visits: tuple[Visit, ...]
    back_at: datetime
    starts_in: str = ""
    ends_in: str = ""
    too_many: int = 0

    @property
    def riders(self) -> tuple[str, ...]:
        """Everybody in the car but the driver."""
        return tuple(person for visit in self.visits for person in visit.people if person != self.run.driver)

    def visit(self, hide: str) -> Visit | None:
        """The car at that hide, None where it does not stop there."""
        return next((visit for visit in self.visits if visit.hide == hide), None)
