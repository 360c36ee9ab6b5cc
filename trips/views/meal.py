"""Meals: the list by day with a form for one more, edited one by one, a day's meals copied to the others."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from participants.versions import Stale
from trips.documents.quantities import count_text, short_day_text
from trips.forms.meal import NAMES, NAMES_ID, MealDayForm, MealForm
from trips.forms.stale import STALE, seen_version
from trips.models import Meal, Trip
from trips.selectors.meal import meal_for
from trips.selectors.meal import meal_list as list_of_meals
from trips.selectors.person import trip_zone
from trips.services.meal import meal_add, meal_delete, meal_update, meals_copy
from trips.views.trip_page import trip_page

WORDS = {"names": NAMES, "names_id": NAMES_ID}


@trip_page
@require_http_methods(["GET", "POST"])
def meal_list(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The trip's meals day by day, how many eat, what they do not eat, and a form for one more meal."""
    page = list_of_meals(trip)
    form = MealForm(request.POST or None, trip=trip, zone=page.zone, initial=_first_day(request, page.days))
    if request.method == "POST" and form.is_valid():
        meal = meal_add(meal=form.save(commit=False))
        messages.success(request, f"{meal.name} on {short_day_text(meal.day)} is saved.")
        return redirect("trips:meal-list", trip_uuid=trip.uuid)
    return render(request, "trips/meal_list.html", {"trip": trip, "page": page, "form": form} | WORDS)


def _first_day(request: HttpRequest, days: tuple[Any, ...]) -> dict[str, Any]:
    """The day a link asks for, else the first day that has no meal yet."""
    wanted = MealDayForm(request.GET)
    free = [one.day for one in days if not one.meals]
    return {"day": wanted.cleaned_data["day"] if wanted.is_valid() else next(iter(free), None)}


@trip_page
@require_http_methods(["GET", "POST"])
def meal_edit(request: HttpRequest, trip: Trip, meal_uuid: UUID) -> HttpResponse:
    """Change one meal."""
    meal: Meal = meal_for(trip, meal_uuid)
    seen = meal.version
    form = MealForm(request.POST or None, instance=meal, trip=trip, zone=trip_zone(trip))
    if request.method == "POST" and form.is_valid():
        try:
            meal_update(meal=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "The meal is saved.")
            return redirect("trips:meal-list", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    return render(request, "trips/meal_edit.html", {"trip": trip, "form": form, "meal": meal, "seen": seen} | WORDS)


@trip_page
@require_POST
def meal_remove(request: HttpRequest, trip: Trip, meal_uuid: UUID) -> HttpResponse:
    """Take one meal away."""
    meal_delete(meal=meal_for(trip, meal_uuid))
    messages.success(request, "The meal is deleted.")
    return redirect("trips:meal-list", trip_uuid=trip.uuid)


@trip_page
@require_POST
def meals_copy_days(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Give the other days the meals of one day."""
    form = MealDayForm(request.POST)
    if form.is_valid():
        made = meals_copy(trip=trip, day=form.cleaned_data["day"])
        told = f"{count_text(made, 'meal')} added to the other days." if made else "The other days have them already."
        messages.success(request, told)
    return redirect("trips:meal-list", trip_uuid=trip.uuid)
