"""The leader's sheet of one day: cars, drops, seats, pick-ups and a place to tick who is out and who is back."""

from dataclasses import dataclass
from datetime import date

from trips.documents.briefing import PaperHead
from trips.documents.meals import AwayLine, MealLine, missed_meals
from trips.documents.quantities import Fact, count_text, day_text


@dataclass(frozen=True, slots=True)
class SeatLine:
    """Who sits where; `note`: hand-over, lens, help to be given."""

    hide: str
    seat: str
    person: str
    lens: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class DropLine:
    """Where a car stops, when, and who gets out. `minutes`: since it left or dropped others; None: not known."""

    hide: str
    arrives: str
    people: str
    minutes: int | None = None


@dataclass(frozen=True, slots=True)
class RunLine:
    """A car's round; `back`: "back 06:58", or where it waits. `too_many`: people without a seat."""

    car: str
    leaves: str
    drops: tuple[DropLine, ...]
    plate: str = ""
    driver: str = ""
    too_many: int = 0
    back: str = ""

    @property
    def warning(self) -> str:
        """What is wrong with the round, empty when all is well."""
        if not self.too_many:
            return ""
        return f"{count_text(self.too_many, 'person', 'people')} too many for this car: a second round or another car"


@dataclass(frozen=True, slots=True)
class FetchLine:
    """A car that fetches people: when it leaves, where it is when, when it is back."""

    car: str
    leaves: str
    stops: str
    back: str


@dataclass(frozen=True, slots=True)
class PickUpLine:
    """When a hide is fetched; `ask`: its light is still front, ask the people first."""

    hide: str
    window: str
    ask: bool = False


@dataclass(frozen=True, slots=True)
class SessionSheet:
    """One session of the day. `faults`: what cannot be driven, with what would help. `away`: in older issues alone.

    `notes`: hides that are closed or on conditions. `forecast`: air and wind. `stretched`: limits that people would
    rather keep and that their hide goes beyond.
    """

    name: str
    hours: str
    seats: tuple[SeatLine, ...] = ()
    runs: tuple[RunLine, ...] = ()
    pick_ups: tuple[PickUpLine, ...] = ()
    rests: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    sky: str = ""
    fetches: tuple[FetchLine, ...] = ()
    faults: tuple[str, ...] = ()
    away: tuple[AwayLine, ...] = ()
    forecast: str = ""
    stretched: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DaySheet:
    """All sessions of a day, for the leader, with the meals in between. `away`: who is away from when to when.

    `phones`: of the people on the trip, as they are when it is printed; no issue keeps them.
    """

    head: PaperHead
    day: date
    sessions: tuple[SessionSheet, ...] = ()
    facts: tuple[Fact, ...] = ()
    meals: tuple[MealLine, ...] = ()
    away: tuple[AwayLine, ...] = ()
    phones: tuple[Fact, ...] = ()

    @property
    def name(self) -> str:
        """The day in words."""
        return day_text(self.day)

    @property
    def missed(self) -> tuple[str, ...]:
        """The meals that people are not back for, or leave at once."""
        told = (*self.away, *(line for session in self.sessions for line in session.away))
        return missed_meals(self.day, self.meals, told)
