"""The card of one turn out of the turn's page: views, settings with reasons, warnings, what to carry."""

import math
import re
from dataclasses import replace

from trips.core.advice import Depth, Line, Setting, Why
from trips.documents.briefing import FillLine, SettingsLine, TurnCard, ViewCard
from trips.documents.days import TurnPage, ViewPage
from trips.documents.paper_facts import BriefingSource, DepthFact, FillFact, WindowFacts
from trips.documents.quantities import Fact, length_text, size_text
from trips.documents.wording.advice import carry_sentences, depth_words, why_sentence
from trips.documents.wording.days import (
    DOORS,
    company_names,
    distance_range,
    heat_sentences,
    light_words,
    notice_sentence,
    water_words,
)
from trips.documents.wording.reach import assumed_sentences, reach_sentence, verdict_words, warning_sentence

POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
FILLS_SHOWN = 4
CAUTION_LETTERS, CAUTION_LINES = 220, 2
_METRES_DRAWN = re.compile(r">(\d+(?:\.\d+)?) m</text>")
SEEN_IN_SETTINGS = ("open_up_first", "shutter_follows_light", "light_too_low")
FOCUS = {"single_point": "one point", "group": "group"}
DRIVE = {"short_bursts": "short", "high": "fastest"}


def turn_card(turn: TurnPage, session_key: str, source: BriefingSource) -> TurnCard:
    """The card; a guest reads nothing of light, gear and settings."""
    units = source.person.units
    views = () if source.page.guest else turn.views
    facts = {window.window: window for window in source.person.windows if window.hide == turn.hide_key}
    best = views[0] if views else None
    key = f"{session_key}/{turn.hide_key}"
    cards = [
        _view_card(view, facts.get(view.name), units, _drawn(source.drawings.get(f"{key}/{view.number}", ""), units))
        for view in views
    ]
    return TurnCard(
        views=tuple(_named(card) if len(cards) > 1 else card for card in cards[:1]),
        windows=tuple(_window_line(card) for card in cards[1:]),
        settings=_settings(best) if best else (),
        reasons=_reasons(best) if best else (),
        limits=_limits(best) if best else (),
        notes=_notes(turn, best, facts.get(best.name) if best else None, units),
        warnings=_warnings(turn, views, units),
        carry=_carry(turn, best, units),
        company=company_names(turn, source.names) or "nobody, you are alone in the hide",
    )


def _named(card: ViewCard) -> ViewCard:
    """The view with its name, where the hide has another."""
    first = card.facts[0]
    return replace(card, facts=(replace(first, label=f"{_capital(card.name)}: {first.label.lower()}"), *card.facts[1:]))


def _window_line(card: ViewCard) -> str:
    """Another view in a line: its facts and its light."""
    facts = ", ".join(f"{fact.label.lower()} {fact.text}" for fact in card.facts)
    return f"{_capital(card.name)}: {facts}. {' '.join(card.light)}"


def _warnings(turn: TurnPage, views: tuple[ViewPage, ...], units: str) -> tuple[str, ...]:
    """What does not fit the lens first, then the sun, the heat, the doors, the hide's own cautions."""
    best = views[0] if views else None
    found: list[str] = []
    if best and best.reach:
        if best.reach.verdict == "fault":
            found.append(reach_sentence(best.reach, best.subject, units))
        found += [warning_sentence(one, units) for one in best.reach.warnings]
    found += [notice_sentence(notice) for view in views for notice in view.notices]
    if turn.heat and turn.heat.above_limit:
        found += heat_sentences(turn.heat, units)
    found += [text for text in (DOORS[turn.doors], _own_cautions(turn)) if text.strip()]
    return tuple(dict.fromkeys(found))


def _own_cautions(turn: TurnPage) -> str:
    """The hide's cautions; long ones stand once under its name at the end of the briefing, not in every card."""
    text = turn.cautions.strip()
    is_long = len(text) > CAUTION_LETTERS or text.count("\n") >= CAUTION_LINES
    return f"See {turn.hide} under Your hides." if is_long else text


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
            stops = "stop" if facts.glass_loss_stops == 1 else "stops"
            lines.append(Fact("Glass", f"takes {facts.glass_loss_stops:g} {stops}"))
    fills = facts.fills if facts else ()
    return ViewCard(
        name=view.name,
        facts=tuple(lines),
        light=(f"{_capital(light_words(view.light))}.",) if view.light else (),
        fills=tuple(_fill_line(one, units) for one in fills[:FILLS_SHOWN]),
        drawing=drawing,
        drawing_text=_drawing_text(view, facts, units) if drawing else "",
    )


def _drawn(drawing: str, units: str) -> str:
    """A drawing with its distances in the person's units; an issue keeps one for all, in metres."""
    if units != "feet":
        return drawing
    return _METRES_DRAWN.sub(lambda found: f">{length_text(float(found[1]), units)}</text>", drawing)


def _drawing_text(view: ViewPage, facts: WindowFacts | None, units: str) -> str:
    where = f", looking {compass_text(facts.bearing_deg)}" if facts else ""
    perch = distance_range(view.near_m, view.far_m, units)
    return f"Drawing from the seat{where}: the perch straight ahead at {perch}; {light_words(view.light)}."


def _fill_line(fill: FillFact, units: str) -> FillLine:
    length = size_text(fill.length_min_cm, fill.length_max_cm, units)
    share = "" if fill.fill is None else f"{100 * fill.fill:.0f} %"
    return FillLine(fill.subject, length, share, verdict_words(fill.verdict))


def _settings(view: ViewPage) -> tuple[SettingsLine, ...]:
    return tuple(
        SettingsLine(
            label="still" if line.kind == "still" else "moving",
            shutter=_shutters(line),
            aperture=_apertures(line),
            iso=_isos(line),
            focus=FOCUS[line.focus],
            drive=DRIVE[line.drive],
        )
        for line in (view.still, view.moving)
        if line is not None
    )


def _whys(view: ViewPage) -> list[Why]:
    return [why for line in (view.still, view.moving) if line is not None for why in line.reasons]


def _reasons(view: ViewPage) -> tuple[str, ...]:
    """Why the settings are what they are in general, each said once."""
    return tuple(dict.fromkeys(why_sentence(why) for why in _whys(view) if why.kind not in SEEN_IN_SETTINGS))


def _limits(view: ViewPage) -> tuple[str, ...]:
    """Where this turn's light is too low, by the line that needs most."""
    low = [why for why in _whys(view) if why.kind == "light_too_low"]
    return (why_sentence(max(low, key=lambda why: why.value or 0.0)),) if low else ()


def _shutters(line: Line) -> str:
    return f"{_through([f'1/{setting.shutter_part}' for setting in line.moments])} s"


def _apertures(line: Line) -> str:
    return f"f/{_through([f'{setting.f_number:g}' for setting in line.moments])}"


def _isos(line: Line) -> str:
    """Expected ISO at the start, the middle and the end; an exclamation mark where the body cannot give it well."""

    def one(setting: Setting) -> str:
        return "auto" if setting.iso is None else f"{setting.iso}{'!' if setting.too_low else ''}"

    return _through([one(setting) for setting in line.moments])


def _through(values: list[str]) -> str:
    kept = [value for index, value in enumerate(values) if index == 0 or value != values[index - 1]]
    return " → ".join(kept)


def _notes(turn: TurnPage, view: ViewPage | None, facts: WindowFacts | None, units: str) -> tuple[str, ...]:
    notes = []
    if view and view.reach and view.reach.best and not (facts and facts.fills):
        notes.append(reach_sentence(view.reach, view.subject, units))
    if facts is not None and facts.depths and facts.circle_mm:
        depths = "; ".join(depth_words(_depth(one), units) for one in facts.depths)
        notes.append(f"Depth of field {depths} (circle {facts.circle_mm:.3f} mm).")
    if turn.heat and not turn.heat.above_limit and turn.heat.worst_air_c is not None:
        notes += heat_sentences(turn.heat, units)
    return (*notes, *assumed_sentences(view.assumed if view else ()))


def _depth(fact: DepthFact) -> Depth:
    return Depth(fact.distance_m, fact.near_m, math.inf if fact.far_m is None else fact.far_m, fact.f_number)


def _carry(turn: TurnPage, view: ViewPage | None, units: str) -> tuple[str, ...]:
    lines = list(carry_sentences(view.carry, units)) if view and view.carry else []
    water = water_words(turn.heat, units) if turn.heat else ""
    return (*lines, *((f"Water: {water}.",) if water else ()))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
