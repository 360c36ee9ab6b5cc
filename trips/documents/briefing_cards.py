"""The card of one turn out of the turn's page: windows, settings with reasons, warnings, what to carry."""

import math

from trips.core.advice import Depth, Line, Setting, Why
from trips.documents.briefing import FillLine, SettingsLine, TurnCard, ViewCard
from trips.documents.days import TurnPage, ViewPage
from trips.documents.paper_facts import BriefingSource, DepthFact, FillFact, WindowFacts
from trips.documents.quantities import Fact, length_text
from trips.documents.wording.advice import DRIVE, FOCUS, carry_sentences, depth_words, why_sentence
from trips.documents.wording.days import (
    DOORS,
    distance_range,
    heat_sentences,
    light_words,
    notice_sentence,
    water_words,
)
from trips.documents.wording.reach import assumed_sentences, reach_sentence, verdict_words, warning_sentence

POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
FILLS_SHOWN = 4
REASONS = {
    "Shutter": ("working_shutter", "still_shutter", "speed_", "shutter_follows_light"),
    "Aperture": ("stop_down", "open_up_first"),
    "ISO": ("manual_with_auto_iso", "light_too_low", "iso_acceptable"),
}


def turn_card(turn: TurnPage, session_key: str, source: BriefingSource) -> TurnCard:
    """The card; a guest reads nothing of light, gear and settings."""
    units = source.person.units
    views = () if source.page.guest else turn.views
    facts = {window.window: window for window in source.person.windows if window.hide == turn.hide_key}
    best = views[0] if views else None
    key = f"{session_key}/{turn.hide_key}"
    return TurnCard(
        views=tuple(
            _view_card(view, facts.get(view.name), units, source.drawings.get(f"{key}/{view.number}", ""))
            for view in views
        ),
        settings=_settings(best) if best else (),
        notes=_notes(best, facts.get(best.name), units) if best else (),
        warnings=_warnings(turn, views, units),
        carry=_carry(turn, best, units),
        company=", ".join(turn.company) if turn.company else "nobody, you are alone in the hide",
    )


def _warnings(turn: TurnPage, views: tuple[ViewPage, ...], units: str) -> tuple[str, ...]:
    """What does not fit the lens first, then the sun, the heat, the doors, the hide's own cautions."""
    best = views[0] if views else None
    found: list[str] = []
    if best and best.reach:
        if best.reach.verdict == "fault":
            found.append(reach_sentence(best.reach, best.subject, units))
        found += [warning_sentence(one, units) for one in best.reach.warnings]
    found += [notice_sentence(notice) for view in views for notice in view.notices]
    if turn.heat and turn.heat.worst_air_c is not None:
        found += heat_sentences(turn.heat, units)
    found += [text for text in (DOORS[turn.doors], turn.cautions) if text.strip()]
    return tuple(dict.fromkeys(found))


def compass_text(bearing_deg: float) -> str:
    """A bearing with its compass point: 250° (WSW)."""
    return f"{bearing_deg:.0f}° ({POINTS[round(bearing_deg / 22.5) % 16]})"


def _view_card(view: ViewPage, facts: WindowFacts | None, units: str, drawing: str) -> ViewCard:
    lines = [Fact("Perch", distance_range(view.near_m, view.far_m, units))]
    if facts is not None:
        lines.insert(0, Fact("Looks towards", compass_text(facts.bearing_deg)))
        if facts.water_edge_m is not None:
            lines.append(Fact("Near edge of the water", length_text(facts.water_edge_m, units)))
        if facts.glass_loss_stops:
            lines.append(Fact("Glass", f"takes {facts.glass_loss_stops:g} stops"))
    fills = facts.fills if facts else ()
    return ViewCard(
        name=view.name,
        facts=tuple(lines),
        light=(f"{_capital(light_words(view.light))}.",) if view.light else (),
        fills=tuple(_fill_line(one) for one in fills[:FILLS_SHOWN]),
        drawing=drawing,
        drawing_text=_drawing_text(view, facts, units) if drawing else "",
    )


def _drawing_text(view: ViewPage, facts: WindowFacts | None, units: str) -> str:
    where = f", looking {compass_text(facts.bearing_deg)}" if facts else ""
    perch = distance_range(view.near_m, view.far_m, units)
    return f"Drawing from the seat{where}: the perch straight ahead at {perch}; {light_words(view.light)}."


def _fill_line(fill: FillFact) -> FillLine:
    lengths = (f"{fill.length_min_cm:g}", f"{fill.length_max_cm:g}")
    length = lengths[0] if lengths[0] == lengths[1] else " to ".join(lengths)
    share = "" if fill.fill is None else f"{100 * fill.fill:.0f} %"
    return FillLine(fill.subject, f"{length} cm", share, verdict_words(fill.verdict))


def _settings(view: ViewPage) -> tuple[SettingsLine, ...]:
    still, moving = view.still, view.moving
    if still is None or moving is None:
        return ()
    rows = (
        ("Shutter", _shutters(still), _shutters(moving)),
        ("Aperture", _apertures(still), _apertures(moving)),
        ("ISO", _isos(still), _isos(moving)),
    )
    lines = [SettingsLine(label, first, second, _reasons(label, still, moving)) for label, first, second in rows]
    lines.append(SettingsLine("Focus", _short(FOCUS[still.focus]), _short(FOCUS[moving.focus]), "continuous autofocus"))
    lines.append(SettingsLine("Drive", DRIVE[still.drive], DRIVE[moving.drive], "a head turns between two frames"))
    return tuple(lines)


def _short(focus: str) -> str:
    return focus.removeprefix("continuous, ")


def _shutters(line: Line) -> str:
    return _through([f"1/{setting.shutter_part} s" for setting in line.moments])


def _apertures(line: Line) -> str:
    return _through([f"f/{setting.f_number:g}" for setting in line.moments])


def _isos(line: Line) -> str:
    """Expected ISO at the start, the middle and the end; a star where it is more than the body gives well."""

    def one(setting: Setting) -> str:
        return "auto" if setting.iso is None else f"{setting.iso}{'*' if setting.too_low else ''}"

    return _through([one(setting) for setting in line.moments])


def _through(values: list[str]) -> str:
    kept = [value for index, value in enumerate(values) if index == 0 or value != values[index - 1]]
    return " → ".join(kept)


def _reasons(label: str, still: Line, moving: Line) -> str:
    whys: dict[str, Why] = {why.kind: why for line in (still, moving) for why in line.reasons}
    wanted = [why_sentence(why) for kind, why in whys.items() if kind.startswith(REASONS[label])]
    if label == "ISO":
        wanted.append("Start, middle and end of the session; a stop either way.")
    return " ".join(wanted)


def _notes(view: ViewPage, facts: WindowFacts | None, units: str) -> tuple[str, ...]:
    notes = []
    if view.reach and view.reach.best and view.subject:
        notes.append(reach_sentence(view.reach, view.subject, units))
    if facts is not None and facts.depths and facts.circle_mm:
        depths = "; ".join(depth_words(_depth(one), units) for one in facts.depths)
        notes.append(f"Depth of field {depths} (circle {facts.circle_mm:.3f} mm).")
    return (*notes, *assumed_sentences(view.assumed))


def _depth(fact: DepthFact) -> Depth:
    return Depth(fact.distance_m, fact.near_m, math.inf if fact.far_m is None else fact.far_m, fact.f_number)


def _carry(turn: TurnPage, view: ViewPage | None, units: str) -> tuple[str, ...]:
    lines = [line.removesuffix(".") for line in carry_sentences(view.carry)] if view and view.carry else []
    water = water_words(turn.heat, units) if turn.heat else ""
    return (*lines, *((f"Water: {water}",) if water else ()))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
