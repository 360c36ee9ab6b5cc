"""The form of a site."""

from datetime import date
from typing import Any

from crispy_forms.helper import FormHelper
from django import forms

from participants.core.errors import CoreError
from participants.form_fields import LengthField, keep_stored
from trips.core.sun import zone_named
from trips.core.values import Point
from trips.documents.wording.places import light_refusal
from trips.forms.position import PlacedForm, PositionField
from trips.models import Site

FACTS = ["lodge", "meeting_point", "arrival", "owner", "owner_contact", "last_changes_time"]
SAFETY = ["emergency_number", "hospital", "rescue_point", "radio", "phone_coverage", "hazards"]


class SiteForm(PlacedForm):
    """An estate: its name, place and zone; the rest may follow."""

    position = PositionField(label="Position")
    elevation_m = LengthField(required=False, label="Height above the sea", initial=0.0)

    class Meta:
        model = Site
        fields = ["name", "time_zone", "elevation_m", *FACTS, *SAFETY]
        labels = {"time_zone": "Time zone", "last_changes_time": "Last time for changes"}
        help_texts = {"time_zone": "Such as Europe/Madrid.", "meeting_point": "What participants are told."}
        widgets = {"last_changes_time": forms.TimeInput({"type": "time"}), "hazards": forms.Textarea({"rows": 3})}

    field_order = ["name", "position", "position_sure", "gpx", "time_zone", "elevation_m"]

    def __init__(self, *args: Any, today: date, units: str = "metric", **kwargs: Any) -> None:
        super().__init__(*args, today=today, **kwargs)
        keep_stored(self, units)
        self.helper = FormHelper()
        self.helper.form_tag = False

    def clean_time_zone(self) -> str:
        """A zone of the time-zone database."""
        try:
            zone_named(self.cleaned_data["time_zone"])
        except CoreError as refused:
            raise forms.ValidationError(light_refusal(refused), code="time_zone") from refused
        return str(self.cleaned_data["time_zone"])

    def clean_elevation_m(self) -> float:
        """Empty is sea level; it moves the sun by less than can be measured."""
        return self.cleaned_data.get("elevation_m") or 0.0

    def clean(self) -> dict[str, Any]:
        """The position on the row, doubted against the zone."""
        cleaned = super().clean() or self.cleaned_data
        place = cleaned.get("position")
        if place is not None:
            self.place_row(place)
            if "time_zone" in cleaned:
                self.ask_back(Point(place.latitude_deg, place.longitude_deg, 0.0, cleaned["time_zone"]))
        return cleaned
