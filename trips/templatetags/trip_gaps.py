"""What a trip lacks, each name a link to the page that mends it."""

from typing import Any

from django import template
from django.urls import reverse

from trips.documents.wording.gaps import Concerned, Gap
from trips.models import Trip

register = template.Library()

# The page of the one site, hide or person concerned, and where on it.
PAGES = {
    "hide_without_seats": ("trips:hide-edit", "seats"),
    "hide_without_views": ("trips:hide-edit", "views"),
    "hide_without_horizon": ("trips:hide-edit", "views"),
    "hide_without_subjects": ("trips:hide-subjects", ""),
    "people_without_gear": ("trips:gear-show", ""),
    "people_gear_unusable": ("trips:gear-table", ""),
    "people_without_wishes": ("trips:my-wishes", ""),
    "people_not_confirmed": ("trips:place-edit", ""),
    "no_leader_phone": ("trips:leader-edit", "div_id_phone"),
    "no_leader_email": ("trips:leader-edit", "div_id_email"),
    "session_outside": ("trips:session-edit", ""),
    "site_closed": ("trips:trip-hides", "closed"),
    "site_facts": ("trips:site-edit", "div_id_meeting_point"),
}


@register.inclusion_tag("trips/_gap_line.html")
def gap_line(trip: Trip, gap: Gap) -> dict[str, Any]:
    """One gap: its names as links, what is missing, and what that means."""
    return {"gap": gap, "links": [(one.name, _page(trip, gap.kind, one)) for one in gap.concerned]}


def _page(trip: Trip, kind: str, one: Concerned) -> str:
    name, part = PAGES[kind]
    if not one.key:
        return reverse(name, fragment=part)
    if name == "trips:trip-hides":
        return reverse(name, args=[trip.uuid], fragment=part)
    if name == "trips:gear-table":
        return reverse(name, args=[trip.uuid])
    if name.startswith(("trips:place", "trips:session")):
        return reverse(name, args=[trip.uuid, one.key])
    return reverse(name, args=[one.key], query={"trip": str(trip.uuid)}, fragment=part or None)
