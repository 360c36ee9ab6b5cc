"""What changed for a person, in their language: English, German, Spanish."""

from datetime import datetime
from zoneinfo import ZoneInfo

from participants.core.isolation import isolated
from participants.core.units import quarts_from_litres
from trips.documents.changes import PageChange
from trips.documents.quantities import clock_text, temperature_text, walk_text

DAYS = {
    "en": ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    "de": ("Mo", "Di", "Mi", "Do", "Fr", "Sa", "So"),
    "es": ("lun", "mar", "mié", "jue", "vie", "sáb", "dom"),
}
MONTHS = {
    "en": ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    "de": ("Jan.", "Feb.", "März", "Apr.", "Mai", "Juni", "Juli", "Aug.", "Sept.", "Okt.", "Nov.", "Dez."),
    "es": ("ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sept", "oct", "nov", "dic"),
}
SENTENCES = {
    "en": {
        "turn_added": "new turn: {new}",
        "turn_withdrawn": "withdrawn: {old}",
        "rest": "you rest (was: {old})",
        "rest_new": "you rest",
        "hide": "another hide: {new} (was: {old})",
        "seat": "another seat: {new} (was: {old})",
        "leaves_at": "the car leaves at {new} (was: {old})",
        "no_car": "no car: you are in the hide already",
        "car": "another car: {new} (was: {old})",
        "hours": "the session starts at {new} (was: {old})",
        "own_hours": "your hours in the shared seat changed",
        "pick_up": "you are fetched by {new} (was: {old})",
        "no_pick_up": "you stay in the hide",
        "stays": "whether you stay through the break changed",
        "walk": "the walk is {new} (was: {old})",
        "pieces": "take {new} (was: {old})",
        "heat_start": "because of the heat: from {new}",
        "no_heat_start": "no later start because of the heat",
        "sky": "the sky is to be {new} (was: {old})",
        "forecast": "the air is to reach {new} (was: {old})",
        "water": "take {new} of water (was: {old})",
        "nothing": "nothing named",
    },
    "de": {
        "turn_added": "neuer Platz: {new}",
        "turn_withdrawn": "entfällt: {old}",
        "rest": "du hast frei (vorher: {old})",
        "rest_new": "du hast frei",
        "hide": "anderes Versteck: {new} (vorher: {old})",
        "seat": "anderer Platz: {new} (vorher: {old})",
        "leaves_at": "das Auto fährt um {new} (vorher: {old})",
        "no_car": "kein Auto: Du bist schon im Versteck",
        "car": "anderes Auto: {new} (vorher: {old})",
        "hours": "der Ansitz beginnt um {new} (vorher: {old})",
        "own_hours": "deine Stunden auf dem geteilten Platz haben sich geändert",
        "pick_up": "du wirst bis {new} abgeholt (vorher: {old})",
        "no_pick_up": "du bleibst im Versteck",
        "stays": "ob du über die Pause bleibst, hat sich geändert",
        "walk": "der Fußweg ist {new} (vorher: {old})",
        "pieces": "nimm {new} (vorher: {old})",
        "heat_start": "wegen der Hitze: ab {new}",
        "no_heat_start": "kein späterer Beginn wegen der Hitze",
        "sky": "der Himmel wird {new} (vorher: {old})",
        "forecast": "die Luft wird bis {new} warm (vorher: {old})",
        "water": "nimm {new} Wasser (vorher: {old})",
        "nothing": "nichts genannt",
    },
    "es": {
        "turn_added": "turno nuevo: {new}",
        "turn_withdrawn": "se anula: {old}",
        "rest": "descansas (antes: {old})",
        "rest_new": "descansas",
        "hide": "otro hide: {new} (antes: {old})",
        "seat": "otro asiento: {new} (antes: {old})",
        "leaves_at": "el coche sale a las {new} (antes: {old})",
        "no_car": "sin coche: ya estás en el hide",
        "car": "otro coche: {new} (antes: {old})",
        "hours": "la sesión empieza a las {new} (antes: {old})",
        "own_hours": "han cambiado tus horas en el asiento compartido",
        "pick_up": "te recogen hasta las {new} (antes: {old})",
        "no_pick_up": "te quedas en el hide",
        "stays": "ha cambiado si te quedas durante la pausa",
        "walk": "el camino a pie es de {new} (antes: {old})",
        "pieces": "lleva {new} (antes: {old})",
        "heat_start": "por el calor: desde las {new}",
        "no_heat_start": "sin comienzo más tarde por el calor",
        "sky": "el cielo estará {new} (antes: {old})",
        "forecast": "el aire llegará a {new} (antes: {old})",
        "water": "lleva {new} de agua (antes: {old})",
        "nothing": "nada indicado",
    },
}
SKIES = {
    "en": {"clear": "clear", "partly": "partly cloudy", "overcast": "overcast"},
    "de": {"clear": "klar", "partly": "wechselnd bewölkt", "overcast": "bedeckt"},
    "es": {"clear": "despejado", "partly": "parcialmente nublado", "overcast": "cubierto"},
}
MAIL_FAULTS = {
    "address": "the mail server refuses the address; correct it, then send it again",
    "content": "the mail server refuses the mail",
    "sender": "the mail server does not take mails of this site; tell the person who runs the server",
    "away": "the mail server does not answer",
    "unwritten": "the mail could not be written; tell the person who runs the server",
    "restored": "the backup that was restored does not know whether it went out",
}
MOMENTS = ("leaves_at", "hours", "pick_up", "heat_start")
WITHOUT_NEW = {"leaves_at": "no_car", "pick_up": "no_pick_up", "heat_start": "no_heat_start"}


def change_sentence(change: PageChange, language: str = "en", units: str = "metric") -> str:
    """One change: "Sat 8 May, 06:45: another hide: Cork Oak, left (was: Alder, right)"."""
    language = language if language in SENTENCES else "en"
    key = change.kind
    if not change.new and key in WITHOUT_NEW:
        key = WITHOUT_NEW[key]
    elif key == "rest" and not change.old:
        key = "rest_new"
    nothing = SENTENCES[language]["nothing"]
    old, new = (_said(value, change, units, language) or nothing for value in (change.old, change.new))
    return f"{session_label(change, language)}: {SENTENCES[language][key].format(old=old, new=new)}"


def mail_sentence(state: str, fault: str) -> str:
    """How a mail that did not go out yet stands (`state` of MailState); empty where there is none.

    "Mail not sent: the mail server refuses the address (550)."
    """
    begins = {"waiting": "The mail is tried again by itself", "given_up": "Mail not sent"}.get(state)
    if begins is None or not fault:
        return "The mail is on its way." if begins else ""
    kind, code = fault.split(" ")
    reason, _, advice = MAIL_FAULTS[kind].partition("; ")
    told = f"{begins}: {reason}{f' ({code})' if code != '0' else ''}."
    return f"{told} {advice[:1].upper()}{advice[1:]}." if advice else told


def session_label(change: PageChange, language: str) -> str:
    """The session of a change by its local day and clock: "Sat 8 May, 06:45"."""
    local = change.starts_at.astimezone(ZoneInfo(change.time_zone))
    point = "." if language == "de" else ""
    day = f"{DAYS[language][local.weekday()]} {local.day}{point} {MONTHS[language][local.month - 1]}"
    return f"{day}, {local:%H:%M}"


def _said(value: str, change: PageChange, units: str, language: str) -> str:
    if not value:
        return ""
    if change.kind in MOMENTS:
        return clock_text(datetime.fromisoformat(value).astimezone(ZoneInfo(change.time_zone)))
    if change.kind == "walk":
        return walk_text(float(value), units)
    if change.kind == "sky":
        return SKIES[language].get(value, value)
    if change.kind == "forecast":
        return temperature_text(float(value), units)
    if change.kind == "water":
        return f"{quarts_from_litres(float(value)):.1f} qt" if units == "feet" else f"{float(value):g} l"
    return isolated(value)
