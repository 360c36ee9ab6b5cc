"""What the card of now says in few words: how long until one leaves, and water."""

import math
from datetime import datetime, timedelta

from participants.core.language import gettext as _
from participants.core.language import ngettext
from participants.core.units import quarts_from_litres
from trips.documents.days import HeatPage

DAYS_FROM_MIN = 2 * 24 * 60  # from here on the countdown counts days


def water_short(heat: HeatPage, units: str) -> str:
    """Water to take, without its bottles."""
    if not heat.bottles:
        return ""
    if units == "feet":
        return _("{water:.1f} US quarts of water", water=quarts_from_litres(heat.water_l))
    return _("{water:g} l of water", water=round(heat.water_l, 2))


def countdown_words(leaves_at: datetime, ends_at: datetime, now: datetime) -> str:
    """How long until one leaves, then until the session ends: "in 5 h 12 min", "ends in 40 min", "over".

    `countdown` of phone_clock.js says the same on a page that stays open.
    """
    if now >= ends_at:
        return _("over")
    if now >= leaves_at:
        return _("ends in {time}", time=_span(ends_at - now))
    return _("in {time}", time=_span(leaves_at - now))


def days_to_go(begins: datetime, now: datetime) -> str:
    """How long until the trip begins; empty once it has begun."""
    return _("in {time}", time=_span(begins - now)) if now < begins else ""


def _span(length: timedelta) -> str:
    minutes = math.ceil(length / timedelta(minutes=1))
    if minutes >= DAYS_FROM_MIN:
        return ngettext("{number} day", "{number} days", round(minutes / 1440))
    hours, rest = divmod(minutes, 60)
    return _("{hours} h {minutes} min", hours=hours, minutes=rest) if hours else _("{minutes} min", minutes=rest)
