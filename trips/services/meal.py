"""What writes meals."""

from datetime import date

from django.db import transaction

from participants.versions import row_save
from trips.models import Meal, Trip


@transaction.atomic
def meal_add(*, meal: Meal) -> Meal:
    """A new meal."""
    meal.save()
    return meal


@transaction.atomic
def meal_update(*, meal: Meal, seen_version: int) -> Meal:
    """Save a changed meal; `Stale` where somebody else changed it since."""
    return row_save(row=meal, seen_version=seen_version)


@transaction.atomic
def meal_delete(*, meal: Meal) -> None:
    """Take a meal away."""
    meal.delete()


@transaction.atomic
def meals_copy(*, trip: Trip, day: date) -> int:
    """Give every other day of the trip the meals of this one; a name a day has already stays as it is there.

    How many meals that made.
    """
    pattern = list(trip.meals.filter(day=day))
    taken = set(trip.meals.values_list("day", "name"))
    made = [
        Meal(trip=trip, day=other, at=meal.at, name=meal.name, place=meal.place, note=meal.note)
        for other in trip.days
        for meal in pattern
        if (other, meal.name) not in taken
    ]
    Meal.objects.bulk_create(made, ignore_conflicts=True)
    return len(made)
