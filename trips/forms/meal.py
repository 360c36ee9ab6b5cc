"""Forms of the trip's meals."""

from datetime import date
from typing import Any

from django import forms

from trips.form_fields import OwnedForm
from trips.forms.trip_days import in_trip, trip_lasts
from trips.models import Meal, Trip

NAMES = ("Breakfast", "Packed lunch", "Lunch", "Dinner")
NAMES_ID = "meal-names"


class MealForm(OwnedForm):
    """One meal, its time as clocks at the site show it."""

    owner = "trip"

    class Meta:
        model = Meal
        fields = ["day", "at", "name", "place", "note"]
        labels = {"at": "Time", "name": "Meal"}
        widgets = {
            "day": forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
            "at": forms.TimeInput({"type": "time"}, format="%H:%M"),
            "name": forms.TextInput({"list": NAMES_ID}),
        }
        help_texts = {
            "place": "Where people eat it, such as the lodge kitchen or in the hide.",
            "note": "Everybody on the trip reads it: name nobody here.",
        }

    def __init__(self, *args: Any, trip: Trip, zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.trip = self.trip = trip
        self.fields["at"].help_text = f"Clock time in {zone}"
        self.fields["day"].widget.attrs |= {"min": trip.starts_on.isoformat(), "max": trip.ends_on.isoformat()}

    def clean_day(self) -> date:
        """A day of the trip; a meal that stood outside it already, because the trip's days changed, may stay."""
        day: date = self.cleaned_data["day"]
        kept = self.instance.pk and day == self.initial.get("day")
        if not kept and not in_trip(self.trip, day):
            raise forms.ValidationError(trip_lasts(self.trip))
        return day


class MealDayForm(forms.Form):
    """The day whose meals are copied."""

    day = forms.DateField()
