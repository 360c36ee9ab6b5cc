"""A place typed on a form: read in any usual way, doubted where a sign may be lost, or taken from a GPX file."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from participants.core.errors import CoreError
from trips.core.positions import Doubt, TypedPosition, place_from_text, position_doubts, waypoints_from_gpx
from trips.core.values import Point
from trips.documents.wording.places import doubt_words, light_refusal, offer_words, plain_position
from trips.selectors.site import zone_places

POSITION_HELP = "39.5, -6.2 or 39°30'0\" N 6°12'0\" W or geo:39.5,-6.2"
LONGEST_TEXT = 120
SURE_LABEL = "The position is right as it stands"


class PositionField(forms.CharField):
    """A position as text; cleaned to a `Place`, or None when empty. What is not changed keeps its stored digits."""

    stored: TypedPosition | None = None

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", POSITION_HELP)
        kwargs.setdefault("widget", forms.TextInput({"autocomplete": "off", "spellcheck": "false"}))
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return plain_position(value.latitude_deg, value.longitude_deg) if isinstance(value, TypedPosition) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        if self.stored is not None and text == self.prepare_value(self.stored):
            return self.stored
        try:
            return place_from_text(text[:LONGEST_TEXT])
        except CoreError as refused:
            raise ValidationError(light_refusal(refused), code="position") from refused

    def has_changed(self, initial: Any, data: Any) -> bool:
        return (self.prepare_value(initial) or "") != (data or "").strip()


class PlacedForm(forms.ModelForm):
    """A row with a position. `offers` and `waypoints` are what the page offers as buttons that fill the position in."""

    gpx = forms.FileField(
        required=False, label="… or from a GPX file", help_text="Its waypoints are offered by name. It is not kept."
    )
    position_sure = forms.BooleanField(required=False, label=SURE_LABEL)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.offers: list[tuple[str, str]] = []
        self.waypoints: list[tuple[str, str]] = []
        row = self.instance
        if row.latitude_deg is not None and row.longitude_deg is not None:
            stored = TypedPosition(row.latitude_deg, row.longitude_deg)
            self.initial["position"] = stored
            self._position_field.stored = stored
        if not self.data.get(self.add_prefix("position_sure")):
            self.fields["position_sure"].widget = forms.HiddenInput()

    @property
    def _position_field(self) -> PositionField:
        field: Any = self.fields["position"]
        return field

    def clean_gpx(self) -> Any:
        """The waypoints of an uploaded file become offers."""
        upload = self.cleaned_data.get("gpx")
        if not upload:
            return None
        try:
            found = waypoints_from_gpx(upload.read())
        except CoreError as refused:
            raise ValidationError(light_refusal(refused), code="gpx") from refused
        self.waypoints = [(place.name, plain_position(place.latitude_deg, place.longitude_deg)) for place in found]
        return None

    def place_row(self, place: TypedPosition | None) -> None:
        """Write the position to the row."""
        self.instance.latitude_deg = None if place is None else place.latitude_deg
        self.instance.longitude_deg = None if place is None else place.longitude_deg

    def ask_back(self, point: Point, lodge: Point | None = None, drive_min: float = 0.0) -> None:
        """Refuse a doubtful position until the person says that it is right."""
        if "position" not in self.changed_data or self.cleaned_data.get("position_sure"):
            return
        for doubt in position_doubts(point, self.today, zone_places(), lodge, drive_min):
            self._offer(doubt)
            self.add_error("position", doubt_words(doubt))

    def _offer(self, doubt: Doubt) -> None:
        sure = self.fields["position_sure"]
        sure.widget = forms.CheckboxInput()
        sure.widget.is_required = False
        self.offers = [
            (offer_words(offer), plain_position(offer.latitude_deg, offer.longitude_deg)) for offer in doubt.offers
        ]
