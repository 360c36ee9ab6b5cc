"""The form of one view of a hide: bearing true or magnetic, horizon typed, pasted or derived."""

from datetime import date, time
from typing import Any

from django import forms

from participants.core.errors import CoreError
from participants.form_fields import LengthField, NumberField, keep_stored
from trips.core.angles import required_bearing_deg
from trips.core.horizons import horizon_from_moments, horizon_from_text
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local, zone_of
from trips.core.magnetism import declination, true_bearing_deg
from trips.core.values import Point
from trips.documents.wording.clock import clock_time_missing, clock_time_twice
from trips.documents.wording.places import bearing_words, horizon_text, light_refusal
from trips.models import View
from trips.models.site import NAMELESS_VIEW

FURTHER = ["measured_on", "water_edge_m", "perch_height_m", "glass", "glass_loss_stops", "light_offset_stops"]
FURTHER += ["horizon_typed", "sun_day", "sun_reached", "sun_left"]
NORTHS = [("true", "true north"), ("magnetic", "magnetic north (a compass)")]


class ViewForm(forms.ModelForm):
    """A view. `bearing_told`: the bearing both ways, with the model and its dates."""

    bearing_deg = NumberField(label="Bearing (°)", help_text="From the seat to the subject, clockwise.")
    bearing_is = forms.ChoiceField(
        choices=NORTHS, initial="true", label="Counted from", help_text="A compass bearing is converted for you."
    )
    measured_on = forms.DateField(
        required=False,
        label="Read from the compass on",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    near_m = LengthField(label="Nearest subject", help_text="From the sensor; gear must focus there.")
    far_m = LengthField(required=False, label="Farthest subject", help_text="Empty: the same.")
    water_edge_m = LengthField(
        required=False, label="Near edge of the water", help_text="Warns of birds inside a near limit."
    )
    perch_height_m = LengthField(
        required=False, minus=True, label="Perch above the ground", help_text="Empty: on the ground, assumed."
    )
    glass_loss_stops = NumberField(
        required=False, label="Light lost in the glass (stops)", help_text="Empty: 1.5 behind glass, assumed."
    )
    light_offset_stops = NumberField(
        required=False,
        label="Learnt from pictures (stops)",
        initial=0.0,
        minus=True,
        help_text="Brighter (+) or darker (-) than worked out.",
    )
    horizon_typed = forms.CharField(
        required=False,
        label="Horizon",
        widget=forms.Textarea({"rows": 3, "spellcheck": "false"}),
        help_text="Pairs azimuth:height in degrees, such as 60:4 85:12, or two pasted columns. Empty: open, assumed.",
    )
    sun_day = forms.DateField(
        required=False, label="Or: on this day", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    )
    sun_reached = forms.TimeField(
        required=False, label="the sun reached the perch at", widget=forms.TimeInput({"type": "time"})
    )
    sun_left = forms.TimeField(required=False, label="and left it at", widget=forms.TimeInput({"type": "time"}))

    class Meta:
        model = View
        fields = ["name", "bearing_deg", "near_m", "far_m", "water_edge_m", "perch_height_m", "glass"]
        fields += ["glass_loss_stops", "light_offset_stops"]

    field_order = ["name", "bearing_deg", "bearing_is", "measured_on", "near_m", "far_m", "water_edge_m"]

    def __init__(self, *args: Any, point: Point, today: date, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.point = point
        self.fields["name"].required = False
        self.initial["measured_on"] = today
        self.initial["horizon_typed"] = horizon_text(self.instance.horizon)
        keep_stored(self, units)
        self.bearing_told = ""
        if self.instance.pk:
            self._tell_bearing(self.instance.bearing_deg, today)

    @property
    def first_fields(self) -> list[forms.BoundField]:
        """What every view needs."""
        return [field for field in self.visible_fields() if field.name not in FURTHER]

    @property
    def further_fields(self) -> list[forms.BoundField]:
        """What some views need; the page folds it."""
        return [field for field in self.visible_fields() if field.name in FURTHER]

    @property
    def has_changed_or_stored(self) -> bool:
        """Whether the form is about a view at all (an extra line left empty is not)."""
        return bool(self.instance.pk or self.has_changed())

    def _tell_bearing(self, bearing_deg: float, day: date) -> None:
        place = self.point
        try:
            found = declination(place.latitude_deg, place.longitude_deg, place.elevation_m, day)
        except CoreError as refused:
            self.bearing_told = light_refusal(refused)
        else:
            self.bearing_told = bearing_words(bearing_deg, found)

    def clean_name(self) -> str:
        """A view without a name is named "view"."""
        return self.cleaned_data.get("name") or NAMELESS_VIEW

    def clean_light_offset_stops(self) -> float:
        """Empty is 0."""
        return self.cleaned_data.get("light_offset_stops") or 0.0

    def clean_bearing_deg(self) -> float:
        """A bearing between 0 and 360."""
        try:
            return required_bearing_deg(self.cleaned_data["bearing_deg"])
        except CoreError as refused:
            raise forms.ValidationError(light_refusal(refused), code="bearing") from refused

    def clean_horizon_typed(self) -> list[list[float]]:
        """The horizon as pairs; what was not changed stays as stored."""
        if "horizon_typed" not in self.changed_data:
            return list(self.instance.horizon)
        try:
            return [list(point) for point in horizon_from_text(self.cleaned_data["horizon_typed"])]
        except CoreError as refused:
            raise forms.ValidationError(light_refusal(refused), code="horizon") from refused

    def clean(self) -> dict[str, Any]:
        """True bearing, distances in order, horizon on the row."""
        cleaned = super().clean() or self.cleaned_data
        self._clean_bearing(cleaned)
        self._clean_distances(cleaned)
        if "horizon_typed" in cleaned:
            self.instance.horizon = self._derived_horizon(cleaned) or cleaned["horizon_typed"]
        return cleaned

    def _clean_bearing(self, cleaned: dict[str, Any]) -> None:
        bearing = cleaned.get("bearing_deg")
        if bearing is None:
            return
        day = cleaned.get("measured_on") or self.initial["measured_on"]
        if cleaned.get("bearing_is") == "magnetic":
            place = self.point
            try:
                found = declination(place.latitude_deg, place.longitude_deg, place.elevation_m, day)
            except CoreError as refused:
                self.add_error("measured_on", light_refusal(refused))
                return
            bearing = cleaned["bearing_deg"] = true_bearing_deg(bearing, found.declination_deg)
        self._tell_bearing(bearing, day)

    def _clean_distances(self, cleaned: dict[str, Any]) -> None:
        near = cleaned.get("near_m")
        if near is None:
            return
        if near <= 0.0:
            self.add_error("near_m", "The nearest subject is more than 0 away.")
            return
        far = cleaned["far_m"] = cleaned.get("far_m") or near
        if far < near:
            self.add_error("far_m", "The farthest subject is not nearer than the nearest.")

    def _derived_horizon(self, cleaned: dict[str, Any]) -> list[list[float]]:
        """The horizon from when the sun came and went; empty when nobody said."""
        clocks = [(name, cleaned[name]) for name in ("sun_reached", "sun_left") if cleaned.get(name)]
        day = cleaned.get("sun_day")
        if clocks and not day:
            self.add_error("sun_day", "Give the day on which the sun reached the perch or left it.")
        if not clocks or not day:
            return []
        moments = [self._moment(name, day, clock) for name, clock in clocks]
        try:
            found = horizon_from_moments(self.point, [moment for moment in moments if moment])
        except CoreError as refused:
            self.add_error("sun_reached", light_refusal(refused))
            return []
        return [list(point) for point in found]

    def _moment(self, name: str, day: date, clock: time) -> Any:
        try:
            return moment_from_local(day, clock, self.point.time_zone).astimezone(zone_of(self.point.time_zone))
        except ClockTimeMissing as missing:
            self.add_error(name, clock_time_missing(missing))
        except ClockTimeTwice as twice:
            self.add_error(name, clock_time_twice(twice))
        return None
