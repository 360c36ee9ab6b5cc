"""Meals: the leader's list by day with who eats, and what everybody on the trip reads."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from uuid import UUID
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404

from trips.assemble.from_row import from_row
from trips.documents.meals import DayMeals, MealLine
from trips.models import Meal, Place, PlaceState, Trip
from trips.selectors.person import trip_zone


@dataclass(frozen=True)
class MealDay:
    """One day: its meals, and how many confirmed people are there (who comes later or left before is not counted)."""

    day: date
    meals: tuple[Meal, ...]
    people: int


@dataclass(frozen=True)
class MealList:
    """All days of the trip and those that have meals; `diets`: (name, what they noted); `zone`: whose clock it is."""

    days: tuple[MealDay, ...]
    people: int
    diets: tuple[tuple[str, str], ...]
    zone: str

    @property
    def is_empty(self) -> bool:
        """Whether no meal is noted yet."""
        return not any(day.meals for day in self.days)


def meal_for(trip: Trip, uuid: UUID | str) -> Meal:
    """The meal of that uuid on this trip."""
    return get_object_or_404(trip.meals, uuid=uuid)


def meals_by_day(trip: Trip) -> tuple[DayMeals, ...]:
    """What everybody on the trip reads, in one query."""
    found = groupby(trip.meals.all(), key=lambda meal: meal.day)
    return tuple(DayMeals(day, tuple(from_row(MealLine, meal) for meal in meals)) for day, meals in found)


def meal_list(trip: Trip) -> MealList:
    """The days with their meals and people, and the diets: for the trip's leaders."""
    zone = trip_zone(trip)
    places = list(
        trip.places.filter(state=PlaceState.CONFIRMED, participant__erased_at__isnull=True)
        .select_related("participant")
        .order_by("participant__name", "pk")
    )
    meals = {day: tuple(own) for day, own in groupby(trip.meals.all(), key=lambda meal: meal.day)}
    days = sorted({*trip.days, *meals})
    return MealList(
        days=tuple(MealDay(day, meals.get(day, ()), sum(_is_there(one, day, zone) for one in places)) for day in days),
        people=len(places),
        diets=tuple((one.participant.name, one.participant.diet) for one in places if one.participant.diet.strip()),
        zone=zone,
    )


def _is_there(place: Place, day: date, zone: str) -> bool:
    """Whether the person is on the trip for some of that day, by the site's calendar."""
    comes, goes = (
        moment.astimezone(ZoneInfo(zone)).date() if moment else None for moment in (place.arrives_at, place.leaves_at)
    )
    return (comes is None or comes <= day) and (goes is None or day <= goes)
