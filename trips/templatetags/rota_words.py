"""Small words of the rota's pages."""

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from django import template
from django.utils.formats import date_format

from trips.core.rota.explain.promises import told_share
from trips.selectors.making import stage_words
from trips.selectors.rota_glance import Column, Seated

register = template.Library()
register.filter(stage_words)


@register.filter
def stamp(moment: datetime, zone: str) -> str:
    """When something was done, on the site's clock: 8 May 2027, 06:45."""
    return date_format(moment.astimezone(ZoneInfo(zone)), "j M Y, H:i")


@register.filter
def called(name: str, short: Mapping[str, str]) -> str:
    """The short name where there is one."""
    return short.get(name, name)


@register.filter
def marks(part: Column | Seated) -> str:
    """The classes of a session's column, or of a turn, by which the table at a glance shows them."""
    if isinstance(part, Column):
        found = {"glance-day": part.begins_day, "glance-shown": part.is_shown}
    else:
        found = {"glance-seat": True, f"worth-{part.worth}": True, "rota-person": part.turn.place_id is not None}
        found |= {"is-followed": part.is_followed, "is-company": part.company, "is-moved": bool(part.was)}
    return " ".join(name for name, is_so in found.items() if is_so)


@register.filter
def percent(share: float) -> str:
    """A share as per cent with one decimal."""
    return f"{share * 100:.1f} %"


@register.filter
def share_text(share: float | None) -> str:
    """A fair share as it is told everywhere, in hundredths; empty where none is known."""
    return "" if share in (None, "") else f"{told_share(share):.2f}"


@register.filter
def unlocalised(value: float) -> str:
    """A number for a machine, with a point in every language."""
    return f"{value:.4f}"
