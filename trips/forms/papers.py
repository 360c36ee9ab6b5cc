"""What is asked before papers are printed or an address is replaced."""

from typing import Any

from django import forms

from trips.models import Trip
from trips.models.paper import PAGE_SIZES
from trips.services.calendars import owner_feeds_of


class PrintForm(forms.Form):
    """The page size."""

    page_size = forms.ChoiceField(choices=PAGE_SIZES, initial="A4", label="Paper")


class AddressForm(forms.Form):
    """Which calendar of the trip gets a new address: the trip's own or an owner's."""

    kind = forms.ChoiceField(choices=[("feed_trip", "trip"), ("feed_owner", "owner")], widget=forms.HiddenInput)
    owner_uuid = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, trip: Trip, asker: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.trip, self.asker = trip, asker

    def clean(self) -> dict[str, Any]:
        """Only calendars of this trip, an owner's only for the site's own leader."""
        cleaned = super().clean() or {}
        sites = set(owner_feeds_of(self.trip, self.asker).values_list("uuid", flat=True))
        allowed = {"feed_trip": {self.trip.uuid}, "feed_owner": sites}
        if cleaned.get("owner_uuid") not in allowed.get(cleaned.get("kind", ""), set()):
            raise forms.ValidationError("That is no calendar of this trip.")
        return cleaned
