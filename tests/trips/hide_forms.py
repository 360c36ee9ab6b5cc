"""Addresses and filled forms of hides."""

from django.urls import reverse


def hide_data(hide=None, **changes):
    """A whole form of a hide with one view and one seat."""
    view, seat = (hide.views.first(), hide.seats.first()) if hide else (None, None)
    data = {
        "name": "Alder",
        "entry": "walk",
        "steps": "0",
        "support": "tripod",
        "doors": "free",
        "minimum_people": "1",
        "view-TOTAL_FORMS": "1",
        "view-INITIAL_FORMS": "1" if view else "0",
        "view-0-id": view.pk if view else "",
        "view-0-bearing_deg": "250",
        "view-0-bearing_is": "true",
        "view-0-near_m": "6",
        "seat-TOTAL_FORMS": "1",
        "seat-INITIAL_FORMS": "1" if seat else "0",
        "seat-0-id": seat.pk if seat else "",
        "seat-0-name": "left",
        "seat-0-quality": "3",
        "step": "save",
    }
    if hide:
        data["seen_version"] = hide.version
    return data | changes


def new_url(site):
    return reverse("trips:hide-new", kwargs={"site_uuid": site.uuid})


def edit_url(hide):
    return reverse("trips:hide-edit", kwargs={"hide_uuid": hide.uuid})
