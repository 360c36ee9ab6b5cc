"""Sentences about what is noted on the day."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from participants.core.errors import CoreError
from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from trips.core.day import Contradiction, Happening
from trips.documents.quantities import clock_text, short_day_text

NOBODY_NAMED = "Choose who it is about. The person you chose no longer has a seat in this session."
NOT_ON_TRIP = "Somebody you named is not on this trip. Choose from the people of the trip."
_REFUSED = {
    "ticked": "{name} was ticked already at {at}{by}.",
    "twice": "That was noted of {name} already at {at}{by}.",
    "nothing": "Nothing was noted of {name}, so there is nothing to take back.",
    "back_before_out": "{name} was ticked out at {at}, which is later than this tick: take that one back first.",
    "out_before": "{name} was ticked at {at}: take that back first.",
    "no_seat": "{name} has no seat in that session. Move them to a hide first.",
    "no_until": "Say until when {name} is late: a moment after the one it is noted for.",
    "late_beyond": "The session ends at {at}: note {name} as away instead.",
    "not_issued": "No rota is issued, so nobody has a seat to change. Issue one first.",
    "there_already": "{name} sits in {hide} already.",
    "elsewhere": "The hide {name} is not at the site of that session. Choose another.",
    "closed": "The hide {name} is closed{since}{reason}. Choose another, or open it first.",
    "full": "The hide {name} has no free seat: {number} people have one. Choose another.",
    "seat_taken": "The seat {name} of {hide} is taken or out of use. Choose another.",
    "closed_twice": "The hide {name} was closed already at {at}{by}.",
    "open_already": "The hide {name} is not closed.",
    "future": "{at} has not come yet. Note what happened when it has.",
    "over": "That session ended at {at}. Give a moment within it.",
    "undone": "That was taken back already at {at}.",
}
_SAID = {
    "out": "out at {at}",
    "back": "back at {at}",
    "not_coming": "not coming, noted at {at}",
    "moved": "moved at {at} to {hide}",
    "hide_closed": "{hide} closed at {at}",
    "overdue_noted": "still out at {at}",
}

_DAY_TOLD = {
    "moved": noted("you move to {where}"),
    "joined": noted("{name} joins you in {hide}"),
    "hide_closed": noted("{hide} is closed; your leader tells you where to go"),
    "hide_open": noted("{hide} is open again; stay there"),
}


def refused_sentence(refused: CoreError, time_zone: str) -> str:
    """Why something was not noted, and what to do."""
    data, zone = refused.data, ZoneInfo(time_zone)
    at: datetime | None = data.get("at")
    clock = f"{at.astimezone(zone):%H:%M}" if at else ""
    facts = {
        "name": isolated(str(data.get("name", ""))),
        "hide": isolated(str(data.get("hide", ""))),
        "number": data.get("number", 0),
        "at": clock,
        "since": f" since {clock}" if clock else "",
        "by": f" by {isolated(data['by'])}" if data.get("by") else "",
        "reason": f" ({data['reason']})" if data.get("reason") else "",
    }
    if data["why"] == "future" and at is not None:
        facts["at"] = f"{at.astimezone(zone):%H:%M on %d %B %Y}"
    return _REFUSED[data["why"]].format(**facts)


def day_told_sentence(kind: str, at: datetime, *, who: str, hide: str, seat: str, is_taken_back: bool = False) -> str:
    """What somebody is told of a move under way: "Sat 8 May, 08:00: you move to Alder, left". `at`: on their clock."""
    where = f"{isolated(hide)}, {isolated(seat)}" if seat else isolated(hide)
    told = _(_DAY_TOLD[kind], name=isolated(who), hide=isolated(hide), where=where)
    said = _("taken back: {told}", told=told) if is_taken_back else told
    return f"{short_day_text(at.date())}, {clock_text(at)}: {said}"


def contradiction_sentence(found: Contradiction, names: Sequence[str], hides: Mapping[str, str], zone: ZoneInfo) -> str:
    """What was said that cannot all be true: "Ana: back at 10:50 by Nuria; still out at 11:05 by Rui"."""
    said = [_said(one, hides, zone) for one in found.said]
    if found.kind == "back_and_out":
        said[-1] = said[-1].replace("out at", "still out at", 1) if found.said[-1].kind == "out" else said[-1]
    who = " and ".join(isolated(name) for name in names)
    if found.kind == "seat_twice":
        return f"{who} have one seat: {'; '.join(said)}."
    return f"{who}: {'; '.join(said)}."


def noted_words(one: Happening, who: str, hide: str) -> str:
    """One thing noted, as a record lists it: "Ana Ruiz: moved, Alder, by Nuria (track flooded)"."""
    said = ", ".join(part for part in (one.kind.replace("_", " "), isolated(hide) if hide else "") if part)
    what = f"{isolated(who)}: {said}" if who else said[:1].upper() + said[1:]
    by, note = f", by {isolated(one.by)}" if one.by else "", f" ({one.note})" if one.note else ""
    return f"{'Taken back: ' if one.undoes else ''}{what}{by}{note}"


def _said(one: Happening, hides: Mapping[str, str], zone: ZoneInfo) -> str:
    by = f" by {isolated(one.by)}" if one.by else ""
    words = _SAID.get(one.kind, f"{one.kind.replace('_', ' ')} at {{at}}")
    return words.format(at=f"{one.at.astimezone(zone):%H:%M}", hide=isolated(hides.get(one.hide, "a hide"))) + by
