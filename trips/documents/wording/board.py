"""Words of the day board: countdowns, the head count, the weather in a line."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from participants.core.errors import CoreError
from participants.core.isolation import isolated
from trips.core.rota.edit.repair_moves import RepairMove
from trips.documents.quantities import clock_text, count_text, temperature_text
from trips.documents.wording.advice import compass_text
from trips.documents.wording.days import SKIES
from trips.documents.wording.happenings import refused_sentence
from trips.documents.wording.rota import move_reason
from trips.documents.wording.rota_names import RotaNames, listed, starting
from trips.documents.wording.rota_refusals import rota_refusal

NAMED_AT_MOST = 2


def countdown(at: datetime, now: datetime) -> str:
    """How far off a moment is, in whole minutes: "in 12 min", "now", "7 min ago"."""
    minutes = round((at - now) / timedelta(minutes=1))
    if minutes == 0:
        return "now"
    length = _length(abs(minutes))
    return f"in {length}" if minutes > 0 else f"{length} ago"


def _length(minutes: int) -> str:
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        return f"{minutes // 60} h {minutes % 60:02d}"
    return count_text(round(minutes / 60 / 24), "day")


def head_count(standing: Mapping[str, int]) -> str:
    """How many people are how: "8 out, 0 back, 1 not coming"; overdue people are out as well."""
    told = [f"{standing.get('out', 0) + standing.get('overdue', 0)} out", f"{standing.get('back', 0)} back"]
    rare = (("not_out", "not out yet"), ("late", "late"), ("not_coming", "not coming"))
    return ", ".join(told + [f"{standing[key]} {words}" for key, words in rare if standing.get(key)])


def unconfirmed_sentence(names: Sequence[str], rota: int | None) -> str:
    """Who has not confirmed a rota, or (None) a move under way; many people are counted, not named."""
    who = listed(map(isolated, names)) if len(names) <= NAMED_AT_MOST else f"{len(names)} people"
    return f"{who} {'has' if len(names) == 1 else 'have'} not confirmed {f'rota {rota}' if rota else 'their move'} yet."


def shut_in_sentence(hide: str, names: Iterable[str]) -> str:
    """That people still sit in a hide that is closed."""
    return f"{isolated(hide)} is closed. Move {listed(map(isolated, names))}."


def weather_line(
    sky: str, airs_c: Iterable[float], wind_from_deg: float | None, sunrise: datetime | None, units: str
) -> str:
    """The weather of a session in a line: "Clear sky · 12 °C to 19 °C · wind from W · sunrise 07:18"."""
    ends = [temperature_text(one, units) for one in sorted(airs_c)]
    air = ends[0] if len(set(ends)) == 1 else f"{ends[0]} to {ends[-1]}" if ends else ""
    wind = "" if wind_from_deg is None else f"wind from {compass_text(wind_from_deg)}"
    sun = f"sunrise {clock_text(sunrise)}" if sunrise else ""
    return " · ".join(part for part in (starting(SKIES.get(sky, "")), air, wind, sun) if part)


def move_sentence(move: RepairMove, names: RotaNames, *, is_planned: bool) -> str:
    """Who moves and why: "Ana: Alder → Birch (Sat 8 May, early). Alder is not available then."

    `is_planned`: the planner chose the move; one by hand has no reason to tell.
    """
    old, new = ("a rest" if hide is None else names.hides[hide] for hide in (move.old_hide, move.new_hide))
    told = f"{names.person(move.person)}: {old} → {new} ({names.sessions[move.session]})."
    return f"{told} {starting(move_reason(move, names))}." if is_planned else told


def phone_sentence(lines: Iterable[tuple[str, str, datetime]]) -> str:
    """Whom to phone as a mail may come too late; (name, telephone, when they leave) each."""
    told = [f"{name} {phone or '(no telephone)'}, leaves {clock_text(at)}" for name, phone, at in lines]
    return f"Phone now: {'; '.join(told)}." if told else ""


def tell_sentence(people: Iterable[tuple[str, str]]) -> str:
    """Whom a move in a session that goes on touches, with their telephones; empty for nobody."""
    told = [f"{name} {phone or '(no telephone)'}" for name, phone in people]
    return f"Tell {listed(told)}." if told else ""


def board_refusal(refused: CoreError, time_zone: str) -> str:
    """Why a press of a sheet changed nothing, and what to do."""
    return refused_sentence(refused, time_zone) if "why" in refused.data else rota_refusal(refused)


CHANGED = {
    "close": "{hide} is closed.",
    "open": "{hide} is open again.",
    "away": "{who} is noted as away.",
    "late": "{who} is noted as late.",
    "swap": "{who} and {other} change seats.",
    "give": "{who} gets a seat in {hide}.",
    "seat_broken": "The seat {seat} is out of use.",
    "seat_mended": "The seat {seat} is in use again.",
    "sky": "The sky is noted.",
    "car_down": "{car} is noted as down.",
    "gear_away": "{piece} is noted as away.",
    "gear_back": "{piece} is with its owner again.",
}


def changed_sentence(what: str, names: Mapping[str, str]) -> str:
    """What was noted, once it is: `names` of people, hide, seat, car and piece."""
    return CHANGED[what].format(**{name: isolated(text) for name, text in names.items()})
