"""The form of a site."""

from datetime import date
from typing import Any

from django import forms

from participants.core.errors import CoreError
from participants.form_fields import LengthField, PhonesChecked, keep_stored
from trips.core.local_time import zone_of
from trips.core.values import Point
from trips.documents.wording.places import light_refusal
from trips.forms.position import PlacedForm, PositionField
from trips.models import Site
from trips.selectors.trip import leaders_named

FACTS = ["lodge", "meeting_point", "cars_leave_from", "arrival", "owner", "owner_contact"]
FACTS += ["owner_language", "last_changes_time"]
SAFETY = ["emergency_number", "hospital", "rescue_point", "radio", "phone_coverage", "hazards"]
HELP = {
    "time_zone": "Such as Europe/Madrid. All times are in this zone.",
    "lodge": "Where people sleep; drive times count from here.",
    "cars_leave_from": "Where people get in; their calendars name this place.",
    "meeting_point": "Participants see this place, and never where a hide is.",
    "arrival": "For the briefing: the last junction, the gate, who to call.",
    "owner": "Who gets the owner's sheet.",
    "owner_contact": "Printed on the safety facts.",
    "owner_language": "For the owner's sheet and calendar.",
    "last_changes_time": "The owner's deadline for changes to the next day. Printed on the owner's sheet.",
    "emergency_number": "First line of the safety facts and of every door card.",
    "hospital": "The nearest with an emergency room.",
    "rescue_point": "Where you meet rescuers. A hide may have its own.",
    "radio": "Channel or call sign, where one is carried.",
    "phone_coverage": "Where a phone works, and where it does not.",
    "hazards": "Heat, water, cattle, hunting days: in the briefing beside the usual cautions.",
}


class SiteForm(PhonesChecked, PlacedForm):
    """An estate: its name, place and zone; the rest may follow."""

    position = PositionField(label="Position")
    elevation_m = LengthField(
        required=False, label="Height above the sea", initial=0.0, minus=True, help_text="Empty: sea level."
    )

    class Meta:
        model = Site
        fields = ["name", "time_zone", "elevation_m", *FACTS, *SAFETY]
        labels = {
            "time_zone": "Time zone",
            "cars_leave_from": "Cars leave from",
            "owner_language": "Language of the owner",
            "last_changes_time": "Last time for changes",
        }
        help_texts = HELP
        widgets = {
            "last_changes_time": forms.TimeInput({"type": "time"}),
            "arrival": forms.Textarea({"rows": 4}),
            "hazards": forms.Textarea({"rows": 3}),
        }

    field_order = ["name", "position", "position_sure", "gpx", "time_zone", "elevation_m"]

    def __init__(self, *args: Any, today: date, units: str = "metric", **kwargs: Any) -> None:
        super().__init__(*args, today=today, **kwargs)
        keep_stored(self, units)
        for name in ("cars_leave_from", "owner_language"):
            self.fields[name].required = False  # a page opened before the question came has no answer

    def clean_cars_leave_from(self) -> str:
        """As it stands where nothing was asked."""
        return self.cleaned_data["cars_leave_from"] or self.instance.cars_leave_from

    def clean_owner_language(self) -> str:
        """As it stands where nothing was asked."""
        return self.cleaned_data["owner_language"] or self.instance.owner_language

    def clean_time_zone(self) -> str:
        """A zone of the time-zone database."""
        try:
            zone_of(self.cleaned_data["time_zone"])
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


class PlannerForm(forms.Form):
    """Another leader who may plan on a site."""

    leader = forms.CharField(max_length=150, label="Let a leader plan here", help_text="The name they sign in with.")

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site = site

    def clean_leader(self) -> Any:
        """The leader of that name, who is another than the site's own."""
        name = self.cleaned_data["leader"]
        leader = leaders_named([name]).get(name)
        if leader is None:
            raise forms.ValidationError(f"Nobody signs in as {name}.")
        if leader.pk == self.site.leader_id:
            raise forms.ValidationError("This site is yours; name another leader.")
        return leader
