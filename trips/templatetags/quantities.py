"""Quantities on pages: in the reader's units and clock for people, unlocalised for machines.

`{% load quantities %}`, then `{{ view.near_m|as_length:units }}`, `{{ air_c|as_temperature:units }}`,
`{{ session.starts_at|as_clock:zone }}`, `{{ session.starts_at|as_moment:zone }}`, `{{ x|machine }}`.
`units` is "metric" or "feet", `zone` the IANA name of the site's time zone.
"""

from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django import template

from trips.documents.quantities import (
    clock_text,
    length_text,
    position_text,
    temperature_text,
    to_follow,
    zoned_text,
)

register = template.Library()


@register.filter
def as_length(length_m: float | None, units: str) -> str:
    """A length in metres or feet: 6 m, 19.7 ft."""
    return length_text(length_m, units)


@register.filter
def as_temperature(temperature_c: float | None, units: str) -> str:
    """A temperature to the whole degree: 37 °C, 99 °F."""
    return temperature_text(temperature_c, units)


@register.filter
def as_clock(moment: datetime | None, zone: str) -> str:
    """Hours and minutes on the site's clock: 06:45."""
    return clock_text(moment and moment.astimezone(ZoneInfo(zone)))


@register.filter
def as_moment(moment: datetime | None, zone: str) -> str:
    """A moment that nobody can misread: 06:45 on Saturday 8 May (Europe/Madrid, UTC+02:00)."""
    return to_follow() if moment is None else zoned_text(moment.astimezone(ZoneInfo(zone)), zone)


@register.simple_tag
def position(latitude_deg: float | None, longitude_deg: float | None) -> str:
    """A position for people: 39.50000° N, 6.20000° W."""
    return position_text(latitude_deg, longitude_deg)


@register.simple_tag
def map_address(north: str, east: str) -> str:
    """A place on a map in the browser, for phones without a map of their own."""
    return f"https://www.openstreetmap.org/?mlat={north}&mlon={east}#map=15/{north}/{east}"


@register.filter
def machine(value: float | Decimal | None) -> str:
    """A number for svg, json, csv and attributes: a point, no groups, no language; nothing for None."""
    if value is None:
        return ""
    text = f"{Decimal(str(value)):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@register.filter
def machine_moment(moment: datetime) -> str:
    """A moment for the datetime attribute: 2027-05-08T04:45:00Z."""
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
