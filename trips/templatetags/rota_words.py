"""Small words of the rota's pages."""

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from django import template
from django.utils.formats import date_format

from trips.selectors.making import stage_words

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
def percent(share: float) -> str:
    """A share as per cent with one decimal."""
    return f"{share * 100:.1f} %"


@register.filter
def unlocalised(value: float) -> str:
    """A number for a machine, with a point in every language."""
    return f"{value:.4f}"
