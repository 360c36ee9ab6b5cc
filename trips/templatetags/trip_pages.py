"""The tabs and crumbs of a trip's pages."""

from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse

from trips.models import Trip

register = template.Library()

# key, label, url name; a room that is not built yet has no tab
TABS = (
    ("trip", "Trip", "trips:trip-show"),
    ("people", "People", "trips:person-list"),
    ("hides", "Hides", "trips:trip-hides"),
    ("sessions", "Sessions", "trips:session-list"),
    ("light", "Light", "trips:trip-light"),
    ("gear", "Gear", "trips:gear-table"),
    ("rota", "Rota", "trips:rota-show"),
    ("day", "On the day", "trips:board-show"),
    ("papers", "Papers", "trips:papers"),
)


@register.inclusion_tag("partials/_tabs.html")
def trip_tabs(trip: Trip, current: str) -> dict[str, Any]:
    """The tabs of a trip; `current` is the key of the page's own tab."""
    tabs = []
    for key, label, name in TABS:
        try:
            tabs.append((label, reverse(name, kwargs={"trip_uuid": trip.uuid}), key == current))
        except NoReverseMatch:
            continue
    return {"label": f"Pages of {trip.name}", "tabs": tabs}


@register.inclusion_tag("partials/_breadcrumbs.html")
def trip_crumbs(trip: Trip, *labels: str) -> dict[str, Any]:
    """Crumbs: trips, this trip, then the labels given (the last one is this page)."""
    crumbs: list[tuple[str, str]] = [("Trips", reverse("trips:trip-list"))]
    here = reverse("trips:trip-show", kwargs={"trip_uuid": trip.uuid}) if labels else ""
    crumbs.append((trip.name, here))
    crumbs += [(label, "") for label in labels]
    return {"crumbs": crumbs}
