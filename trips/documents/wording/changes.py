"""What changed for a person, in the language in use."""

from datetime import datetime
from zoneinfo import ZoneInfo

from participants.core.isolation import isolated
from participants.core.language import decimal_text
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.units import quarts_from_litres
from trips.documents.changes import PageChange
from trips.documents.quantities import clock_text, short_day_text, temperature_text, walk_text

SENTENCES = {
    "turn_added": noted("new turn: {new}"),
    "turn_withdrawn": noted("withdrawn: {old}"),
    "rest": noted("you rest (was: {old})"),
    "rest_new": noted("you rest"),
    "hide": noted("another hide: {new} (was: {old})"),
    "seat": noted("another seat: {new} (was: {old})"),
    "leaves_at": noted("the car leaves at {new} (was: {old})"),
    "no_car": noted("no car: you are in the hide already"),
    "car": noted("another car: {new} (was: {old})"),
    "hours": noted("the session starts at {new} (was: {old})"),
    "ends_at": noted("the session ends at {new} (was: {old})"),
    "own_hours": noted("your hours in the shared seat: {new} (was: {old})"),
    "whole_seat": noted("the seat is yours alone for the whole session"),
    "pick_up": noted("you are fetched by {new} (was: {old})"),
    "no_pick_up": noted("you stay in the hide"),
    "stays": noted("you stay in the hide through the break"),
    "no_stay": noted("you do not stay in the hide through the break"),
    "walk": noted("the walk is {new} (was: {old})"),
    "pieces": noted("take {new} (was: {old})"),
    "no_pieces": noted("no gear of yours is known to work there: ask your leader (was: {old})"),
    "heat_start": noted("because of the heat it is cool enough from {new} only"),
    "no_heat_start": noted("no later start because of the heat"),
    "drives": noted("you drive: {new} (was: {old})"),
    "drives_new": noted("you drive: {new}"),
    "no_drives": noted("you do not drive any more (was: {old})"),
    "drives_at": noted("you leave with the car at {new} (was: {old})"),
    "fetches_at": noted("you leave to fetch people at {new} (was: {old})"),
    "sky": noted("the sky is to be {new} (was: {old})"),
    "forecast": noted("the air is to reach {new} (was: {old})"),
    "water": noted("take {new} of water (was: {old})"),
}
SKIES = {"clear": noted("clear"), "partly": noted("partly cloudy"), "overcast": noted("overcast")}
NOTHING = noted("nothing named")
MAIL_FAULTS = {
    "address": "the mail server refuses the address; correct it, then send it again",
    "content": "the mail server refuses the mail",
    "sender": "the mail server does not take mails of this site; tell the person who runs the server",
    "away": "the mail server does not answer",
    "unwritten": "the mail could not be written; tell the person who runs the server",
    "restored": "the backup that was restored does not know whether it went out",
}
MOMENTS = ("leaves_at", "drives_at", "fetches_at", "hours", "ends_at", "pick_up", "heat_start")
WITHOUT_NEW = {
    "leaves_at": "no_car",
    "pick_up": "no_pick_up",
    "heat_start": "no_heat_start",
    "own_hours": "whole_seat",
    "pieces": "no_pieces",
    "drives": "no_drives",
}


def change_sentence(change: PageChange, units: str = "metric") -> str:
    """One change: "Sat 8 May, 06:45: another hide: Cork Oak, left (was: Alder, right)"."""
    key = change.kind
    if not change.new and key in WITHOUT_NEW:
        key = WITHOUT_NEW[key]
    elif key in ("rest", "drives") and not change.old:
        key = f"{key}_new"
    elif key == "stays" and change.new == "False":
        key = "no_stay"
    old, new = (_said(value, change, units) or _(NOTHING) for value in (change.old, change.new))
    return f"{session_label(change)}: {_(SENTENCES[key], old=old, new=new)}"


def old_words(change: PageChange, units: str = "metric") -> str:
    """What it was before; empty where there was nothing."""
    return _said(change.old, change, units)


def mail_sentence(state: str, fault: str) -> str:
    """How a mail that did not go out yet stands (`state` of MailState); empty where there is none.

    "Mail not sent: the mail server refuses the address (550)."
    """
    begins = {"waiting": "The mail is tried again by itself", "given_up": "Mail not sent"}.get(state)
    if begins is None or not fault:
        return "The mail is on its way." if begins else ""
    kind, code = fault.split(" ")
    reason, _end, advice = MAIL_FAULTS[kind].partition("; ")
    told = f"{begins}: {reason}{f' ({code})' if code != '0' else ''}."
    return f"{told} {advice[:1].upper()}{advice[1:]}." if advice else told


def session_label(change: PageChange) -> str:
    """The session of a change by its local day and clock: "Sat 8 May, 06:45"."""
    local = change.starts_at.astimezone(ZoneInfo(change.time_zone))
    return f"{short_day_text(local.date())}, {local:%H:%M}"


def _said(value: str, change: PageChange, units: str) -> str:
    if not value:
        return ""
    if change.kind in MOMENTS:
        return _clock(value, change)
    if change.kind == "own_hours":
        return ", ".join("–".join(_clock(one, change) for one in part.split("/")) for part in value.split("; "))
    if change.kind == "walk":
        return walk_text(float(value), units)
    if change.kind == "sky":
        return _(SKIES.get(value, value))
    if change.kind == "forecast":
        return temperature_text(float(value), units)
    if change.kind == "water":
        litres = float(value)
        return decimal_text(f"{quarts_from_litres(litres):.1f} US quarts" if units == "feet" else f"{litres:g} l")
    return isolated(value)


def _clock(value: str, change: PageChange) -> str:
    return clock_text(datetime.fromisoformat(value).astimezone(ZoneInfo(change.time_zone)))
