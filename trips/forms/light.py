"""What the light pages may be asked for."""

from datetime import date
from typing import Any

from django import forms

from participants.core.errors import CoreError
from participants.form_fields import NumberField
from trips.core.sun import day_bounds
from trips.documents.wording.places import light_refusal

WISHES = [("front", "front light"), ("side", "side light"), ("back", "back light"), ("any", "any light")]
SKIES = [("clear", "clear"), ("partly", "partly cloudy"), ("overcast", "overcast")]


class LightForm(forms.Form):
    """Day, wish, sky and lens of the light page of a hide."""

    day = forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    wish = forms.ChoiceField(choices=WISHES, label="Wanted light")
    sky = forms.ChoiceField(choices=SKIES)
    focal_mm = NumberField(min_value=8, max_value=2000, label="Lens on a 36 × 24 mm frame (mm)")

    def __init__(self, data: Any, *, day: date) -> None:
        initial = {"day": day.isoformat(), "wish": "front", "sky": "clear", "focal_mm": "600"}
        super().__init__({name: data.get(name) or value for name, value in initial.items()})

    def clean_day(self) -> date:
        """A day that can be computed."""
        day: date = self.cleaned_data["day"]
        try:
            day_bounds(day, "UTC")
        except CoreError as refused:
            raise forms.ValidationError(light_refusal(refused), code="day") from refused
        return day


class WishForm(forms.Form):
    """The wanted light of the light table of a trip."""

    wish = forms.ChoiceField(choices=WISHES, label="Wanted light")

    def __init__(self, data: Any) -> None:
        super().__init__({"wish": data.get("wish") or "front"})
