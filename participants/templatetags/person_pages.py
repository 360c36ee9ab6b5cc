"""The tabs of a participant's pages."""

from datetime import date, datetime
from functools import cache
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation.trans_real import DjangoTranslation
from django.views.i18n import JavaScriptCatalog

from participants.core.language import day_by_pattern, language, pgettext
from participants.speaking import ENGLISH
from participants.wording import device_words

register = template.Library()
register.filter(device_words)

# key, label, url name, and where on the page; pages that mix people with trips live there, under their names only
TABS = (
    ("days", _("Today"), "trips:my-days", ""),
    ("turns", _("Turns"), "trips:my-days", "#turns"),
    ("gear", _("Gear"), "trips:gear-show", ""),
    ("wishes", _("Wishes"), "trips:my-wishes", ""),
)
MORE = (
    ("details", _("Details"), "trips:my-details", ""),
    ("message", _("Tell your leader"), "trips:my-message", ""),
    ("briefing", _("Briefing"), "trips:my-briefing", ""),
    ("calendar", _("Calendar"), "trips:my-calendar", ""),
    ("data", _("My data"), "trips:my-data", ""),
)


@register.filter
def day(value: date) -> str:
    """A day with its year, as people read it in few letters: 8 May 2027."""
    return day_by_pattern(value, pgettext("day", "d MMM y"))


@register.filter
def stamp(moment: datetime, zone: str) -> str:
    """When something was done, on the clock of a place: 8 May 2027, 06:45."""
    local = moment.astimezone(ZoneInfo(zone))
    return f"{day(local)}, {local:%H:%M}"


@register.inclusion_tag("participants/_own_page_facts.html", takes_context=True)
def own_page_facts(context: template.Context) -> dict[str, Any]:
    """What the scripts know of the page: whose it is, of which edition, when it was made, and whose clock it goes by.

    Days that were issued go by the clock of their issue.
    """
    request = context["request"]
    zone = getattr(context.get("page"), "time_zone", "") or request.time_zone
    facts = {"person": request.person, "edition": request.edition, "now": timezone.now(), "zone": zone}
    return facts | {"words": _words_of_scripts(language())}


@cache
def _words_of_scripts(spoken: str) -> dict[str, Any]:
    """What the scripts say, translated; nothing for English."""
    catalog = JavaScriptCatalog()
    catalog.translation = DjangoTranslation(spoken, domain="djangojs", localedirs=list(map(str, settings.LOCALE_PATHS)))
    return {} if spoken == ENGLISH else catalog.get_catalog()


@register.simple_tag(takes_context=True)
def trip_asked(context: template.Context) -> str:
    """ "?trip=…" of the trip that the page was asked for, to end an address with; empty without one."""
    trip = context["request"].GET.get("trip")
    return f"?{urlencode({'trip': trip})}" if trip else ""


@register.inclusion_tag("participants/_my_tabs.html", takes_context=True)
def person_tabs(context: template.Context, current: str) -> dict[str, Any]:
    """The tabs of the pages of `request.person`; `current` is the key of the page's own tab.

    A trip that was asked for stays asked for; without one the pages are about the running or next trip.
    """
    tabs, more = _leading(context, TABS, current), _leading(context, MORE, current)
    shown = {"tabs": tabs, "more": more, "here": any(one[-1] for one in more)}
    return {"label": _("My pages"), "request": context["request"], "scheme": context.get("scheme", "")} | shown


def _leading(context: template.Context, named: tuple[Any, ...], current: str) -> list[tuple[str, Any, str, bool]]:
    """(key, label, address, whether it is the page) of the pages that the person has."""
    request = context["request"]
    person, trip = request.person, request.GET.get("trip")
    found = []
    for key, label, name, part in named:
        if (key == "gear" and not request.brings_gear) or (key == "data" and not request.is_kept):
            continue
        try:
            address = reverse(name, kwargs={"person_uuid": person.uuid}, query={"trip": trip} if trip else None)
            found.append((key, label, address + part, key == current))
        except NoReverseMatch:
            continue
    return found
