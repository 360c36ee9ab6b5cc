"""The tabs of a participant's pages."""

from typing import Any
from urllib.parse import urlencode

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

register = template.Library()

# key, label, url name; pages that mix people with trips live there, under their names only
TABS = (
    ("days", "Days", "trips:my-days"),
    ("gear", "Gear", "trips:gear-show"),
    ("wishes", "Wishes", "trips:my-wishes"),
    ("details", "Details", "trips:my-details"),
    ("briefing", "Briefing", "trips:my-briefing"),
    ("calendar", "Calendar", "trips:my-calendar"),
    ("data", "My data", "trips:my-data"),
)


@register.inclusion_tag("participants/_own_page_facts.html", takes_context=True)
def own_page_facts(context: template.Context) -> dict[str, Any]:
    """What the scripts know of the page: whose it is, of which edition, when it was made, and whose clock it goes by.

    Days that were issued go by the clock of their issue.
    """
    request = context["request"]
    zone = getattr(context.get("page"), "time_zone", "") or request.time_zone
    return {"person": request.person, "edition": request.edition, "now": timezone.now(), "zone": zone}


@register.simple_tag(takes_context=True)
def trip_asked(context: template.Context) -> str:
    """ "?trip=…" of the trip that the page was asked for, to end an address with; empty without one."""
    trip = context["request"].GET.get("trip")
    return f"?{urlencode({'trip': trip})}" if trip else ""


@register.inclusion_tag("partials/_tabs.html", takes_context=True)
def person_tabs(context: template.Context, current: str) -> dict[str, Any]:
    """The tabs of the pages of `request.person`; `current` is the key of the page's own tab.

    A trip that was asked for stays asked for; without one the pages are about the running or next trip.
    """
    request = context["request"]
    person, trip = request.person, request.GET.get("trip")
    tabs = []
    for key, label, name in TABS:
        if (key == "gear" and not request.brings_gear) or (key == "data" and not request.is_kept):
            continue
        try:
            address = reverse(name, kwargs={"person_uuid": person.uuid}, query={"trip": trip} if trip else None)
            tabs.append((label, address, key == current))
        except NoReverseMatch:
            continue
    return {"label": "My pages", "tabs": tabs}
