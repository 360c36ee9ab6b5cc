"""The meals of a trip's days, as people read them on their pages and papers."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from trips.documents.quantities import clock_range_text, clock_text, count_text, short_day_text
from trips.documents.wording.rota_names import listed

SHORTEST_MEAL = timedelta(minutes=20)  # whoever has less leaves hungry; common practice, no source


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


def days_alike(days: Iterable[DayMeals]) -> tuple[tuple[str, tuple[MealLine, ...]], ...]:
    """Days in a row that have the same meals as one: "Sun 9 May to Tue 11 May" and the meals."""
    runs: list[list[DayMeals]] = []
    for one in days:
        before = runs[-1][-1] if runs else None
        if before and before.meals == one.meals and before.day + timedelta(days=1) == one.day:
            runs[-1].append(one)
        else:
            runs.append([one])
    return tuple((_days_name(own[0], own[-1]), own[0].meals) for own in runs)


def _days_name(first: DayMeals, last: DayMeals) -> str:
    return first.name if first == last else _("{low} to {high}", low=first.name, high=last.name)


@dataclass(frozen=True, slots=True)
class AwayLine:
    """How many people are away from when to when, by the clock of the site."""

    leaves_at: datetime
    back_at: datetime
    people: int


def missed_meals(day: date, meals: Iterable[MealLine], away: Iterable[AwayLine]) -> tuple[str, ...]:
    """The meals of a day for which people are not back, or which they must leave at once, a sentence each."""
    lines, found = list(away), []
    for meal in meals:
        late, leave = Counter[str](), Counter[str]()
        for line in lines:
            at = datetime.combine(day, meal.at, tzinfo=line.leaves_at.tzinfo)
            if line.leaves_at < at < line.back_at:
                late[clock_range_text(line.leaves_at, line.back_at)] += line.people
            elif at <= line.leaves_at < at + SHORTEST_MEAL:
                leave[clock_text(line.leaves_at)] += line.people
        told = [f"{count_text(people, 'person is', 'people are')} away {hours}" for hours, people in late.items()]
        told += [f"{count_text(people, 'person leaves', 'people leave')} at {at}" for at, people in leave.items()]
        if told:
            found.append(f"{isolated(meal.name)} {meal.clock}: {listed(told)}. Move it or pack it.")
    return tuple(found)
