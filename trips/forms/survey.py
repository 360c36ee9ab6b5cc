"""What is measured on the spot: where a hide stands, where its windows look, how far the subject is."""

from datetime import date
from typing import Any

from django import forms

from participants.core.errors import CoreError
from trips.assemble import point_value
from trips.core.positions import place_from_text
from trips.core.values import Point
from trips.documents.wording.places import plain_position
from trips.form_fields import OwnedForm
from trips.forms.position import SURE_LABEL, PlacedForm, PositionField
from trips.forms.view import ViewForm
from trips.models import Hide, View

POSITION = "position"
NEW = "new"
UNREADABLE = (float("nan"), float("nan"))


def position_text(hide: Hide) -> str:
    """A hide's own position as its form shows it; empty where it has the site's."""
    if hide.latitude_deg is None or hide.longitude_deg is None:
        return ""
    return plain_position(hide.latitude_deg, hide.longitude_deg)


class PositionForm(PlacedForm):
    """Where a hide stands. `was`: the position as the page showed it, so that somebody else's change is not lost."""

    position = PositionField(label="Position", help_text="Empty: the site's. 39.5, -6.2 or 39°30'0\" N 6°12'0\" W")
    gpx = None  # type: ignore[assignment]
    was = forms.CharField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = Hide
        fields: list[str] = []

    def __init__(self, data: Any, *, hide: Hide, today: date) -> None:
        super().__init__(data, instance=hide, today=today, prefix=f"hide{hide.pk}")
        self.fields["position"].required = False
        self.fields["position_sure"] = forms.BooleanField(required=False, label=SURE_LABEL)
        self.initial["was"] = position_text(hide)

    def clean_was(self) -> tuple[float, float] | None:
        """The position that the page showed; one that cannot be read is like none that is stored."""
        text = self.cleaned_data["was"]
        try:
            place = place_from_text(text) if text else None
        except CoreError:
            return UNREADABLE
        return (place.latitude_deg, place.longitude_deg) if place else None

    def clean(self) -> dict[str, Any]:
        """The position goes to the row, doubted against the site."""
        cleaned = super().clean() or self.cleaned_data
        if "position" in cleaned:
            place, hide = cleaned["position"], self.instance
            self.place_row(place)
            if place is not None:
                here = Point(place.latitude_deg, place.longitude_deg, 0.0, hide.site.time_zone)
                self.ask_back(here, point_value(hide.site), hide.drive_min)
        return cleaned


class WindowForm(OwnedForm, ViewForm):
    """Where one window looks and how far the subject is; without a view a new window of the hide."""

    owner = "hide"
    water_edge_m = None  # type: ignore[assignment]
    perch_height_m = None  # type: ignore[assignment]
    glass_loss_stops = None  # type: ignore[assignment]
    light_offset_stops = None  # type: ignore[assignment]
    horizon_typed = None  # type: ignore[assignment]
    sun_day = None  # type: ignore[assignment]
    sun_reached = None  # type: ignore[assignment]
    sun_left = None  # type: ignore[assignment]
    seen_version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = View
        fields = ["name", "bearing_deg", "near_m", "far_m"]

    def __init__(self, data: Any, *, hide: Hide, view: View | None, today: date, units: str) -> None:
        instance = view or View(hide=hide)
        self.seen = instance.version
        prefix = f"view{instance.pk}" if instance.pk else f"hide{hide.pk}new"
        point = point_value(hide.site, hide)
        super().__init__(data, instance=instance, prefix=prefix, point=point, today=today, units=units)
        instance.hide = hide
        self.initial["seen_version"] = instance.version
        if instance.pk:
            del self.fields["name"]

    @property
    def about(self) -> str:
        """What the form's address says it is about."""
        return str(self.instance.uuid) if self.instance.pk else NEW
