"""The meals of a trip's days, as people read them on their pages and papers."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time

from participants.core.isolation import isolated
from trips.documents.quantities import clock_text, count_text, short_day_text


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


@dataclass(frozen=True, slots=True)
class AwayLine:
    """How many people are away from when to when, by the clock of the site."""

    leaves_at: datetime
    back_at: datetime
    people: int


def missed_meals(day: date, meals: Iterable[MealLine], away: Iterable[AwayLine]) -> tuple[str, ...]:
    """The meals of a day that begin before people are back, a sentence each."""
    lines, found = list(away), []
    for meal in meals:
        missing = [line for line in lines if line.leaves_at < _moment(day, meal, line) < line.back_at]
        if missing:
            people = count_text(sum(line.people for line in missing), "person is", "people are")
            back = clock_text(max(line.back_at for line in missing))
            found.append(f"{isolated(meal.name)} {meal.clock}: {people} back only at {back}. Move it or pack it.")
    return tuple(found)


def _moment(day: date, meal: MealLine, line: AwayLine) -> datetime:
    return datetime.combine(day, meal.at, tzinfo=line.leaves_at.tzinfo)
