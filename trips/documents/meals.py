"""The meals of a trip's days, as people read them on their pages and papers."""

from dataclasses import dataclass
from datetime import date, time

from participants.core.isolation import isolated
from trips.documents.quantities import short_day_text


@dataclass(frozen=True, slots=True)
class MealLine:
    """One meal; `at` is what the clock of the site shows."""

    at: time
    name: str
    place: str = ""
    note: str = ""

    @property
    def clock(self) -> str:
        """When it begins: 08:30."""
        return f"{self.at:%H:%M}"

    @property
    def words(self) -> str:
        """The meal after its time: Breakfast, lodge kitchen (packed, in the car)."""
        where = ", ".join(isolated(part) for part in (self.name, self.place) if part)
        return f"{where} ({isolated(self.note)})" if self.note else where


@dataclass(frozen=True, slots=True)
class DayMeals:
    """The meals of one day in the order of their times."""

    day: date
    meals: tuple[MealLine, ...]

    @property
    def name(self) -> str:
        """The day in few letters."""
        return short_day_text(self.day)
