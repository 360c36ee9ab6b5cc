"""Meals of a trip, which everybody with a place on it reads beside the turns."""

from django.db import models

from participants.models import Row
from participants.models.row import once
from trips.models.trip import Trip


class Meal(Row):
    """A meal on one day; `at` is what the clock of the site shows then. No part of a rota: it is read as it stands."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="meals")
    day = models.DateField()
    at = models.TimeField()
    name = models.CharField(max_length=60)
    place = models.CharField(max_length=80, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["day", "at", "name", "uuid"]
        constraints = [once("meal_name_once_a_day", "This day already has a meal of that name.", "trip", "day", "name")]

    def __str__(self) -> str:
        return f"{self.name} at {self.at:%H:%M}"
