"""The card of one turn on paper: the turn's page value with the facts of its views, put into words when asked."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import language, ngettext
from trips.core.advice import Depth
from trips.documents.days import DepthFact, FillFact, SessionPage, TurnPage, ViewPage
from trips.documents.paper_facts import ViewFacts
from trips.documents.quantities import Fact, length_text, size_text
from trips.documents.wording.advice import (
    background_sentence,
    carry_sentences,
    compass_text,
    depth_words,
    handling_sentence,
    settings_reasons,
    step_sentences,
)
from trips.documents.wording.days import (
    company_names,
    doors_words,
    heat_sentences,
    light_words,
    loan_sentences,
    notice_sentence,
    perch_words,
    unsettled_words,
    water_words,
)
from trips.documents.wording.reach import (
    assumed_sentences,
    focal_words,
    other_set_words,
    reach_sentence,
    set_words,
    warning_sentence,
)
from trips.documents.wording.rota_names import starting

FILLS_SHOWN = 4  # those that matter most: more would crowd the card
CAUTION_LETTERS, CAUTION_LINES = 220, 2  # longer ones stand once, below the cards


@dataclass(frozen=True, slots=True)
class Card:
    """The second look at a turn: its best view, settings with their reasons, warnings, what to carry, with whom.

    `view_facts`: of the hide's views; `names`: of the trip's people by place key; `drawing`: of the best view,
    SVG, or the address of its picture while the paper is printed.
    """

    session: SessionPage
    turn: TurnPage
    view_facts: tuple[ViewFacts, ...] = ()
    units: str = "metric"
    names: Mapping[str, str] = field(default_factory=dict)
    drawing: str = ""

    @property
    def view(self) -> ViewPage | None:
        """The view with the best light; None for a guest, who reads nothing of light, gear and settings."""
        return self.turn.views[0] if self.turn.views else None

    @property
    def facts(self) -> tuple[Fact, ...]:
        """The facts of the best view, with its name where the hide has another."""
        if self.view is None:
            return ()
        found = self._facts(self.view)
        if len(self.turn.views) == 1:
            return found
        return (Fact(f"{starting(self.view.name)}: {_inside(found[0].label)}", found[0].text), *found[1:])

    @property
    def light(self) -> str:
        """The light of the best view."""
        return _light_sentence(self.view) if self.view else ""

    @property
    def other_views(self) -> tuple[str, ...]:
        """The other views of the hide in a line each: facts and light."""
        return tuple(
            f"{starting(view.name)}: {', '.join(f'{_inside(fact.label)} {fact.text}' for fact in self._facts(view))}. "
            f"{_light_sentence(view)}"
            for view in self.turn.views[1:]
        )

    @property
    def fills(self) -> tuple[FillFact, ...]:
        """How large the subjects get in the frame with the card's set, those that matter most."""
        return self.view.fills[:FILLS_SHOWN] if self.view else ()

    @property
    def of_set(self) -> str:
        """The set that everything on the card is about, and for which subject it was chosen."""
        gear = self.view.reach.best if self.view and self.view.reach else None
        if self.view is None or gear is None:
            return ""
        if not self.view.subject:
            return set_words(gear)
        return _("{set} for {subject}", set=set_words(gear), subject=isolated(self.view.said))

    @property
    def drawing_text(self) -> str:
        """What the drawing shows, in words."""
        if self.view is None:
            return ""
        known = self._known(self.view)
        told = {"perch": perch_words(self.view, self.units), "light": light_words(self.view.light)}
        if not known:
            return _("Drawing from the seat: the perch straight ahead at {perch}; {light}.", **told)
        return _(
            "Drawing from the seat, looking {bearing}: the perch straight ahead at {perch}; {light}.",
            bearing=compass_text(known.bearing_deg),
            **told,
        )

    @property
    def handling(self) -> tuple[str, ...]:
        """How to focus and release."""
        return (handling_sentence(self.view),) if self.view and self.view.rows else ()

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why the settings are what they are in general, each said once."""
        return settings_reasons(self.view) if self.view else ()

    @property
    def limits(self) -> tuple[str, ...]:
        """What dawn and dusk allow from when."""
        return step_sentences(self.view) if self.view else ()

    @property
    def warnings(self) -> tuple[str, ...]:
        """What does not fit the lens first, then the sun, the heat, the doors, the hide's own cautions."""
        view, turn, found = self.view, self.turn, []
        if view and view.reach:
            if view.reach.verdict == "fault":
                found.append(reach_sentence(view.reach, view.said, self.units))
            found += [warning_sentence(one, self.units) for one in view.reach.warnings]
        found += self._notices
        if turn.heat and turn.heat.above_limit:
            found += heat_sentences(turn, self.units)
        found += [text for text in (doors_words(turn), _own_cautions(turn)) if text.strip()]
        found += [text for text in (unsettled_words(turn.call),) if text]
        return tuple(dict.fromkeys(found))

    @property
    def notes(self) -> tuple[str, ...]:
        """Reach, depth of field, heat that is no warning, and what is assumed."""
        view, heat, notes = self.view, self.turn.heat, []
        if view and view.reach and view.reach.best and not view.fills:
            notes.append(reach_sentence(view.reach, view.said, self.units))
        if view and view.reach and view.reach.best and view.depths and view.circle_mm:
            depths = "; ".join(depth_words(_depth(one), self.units) for one in view.depths)
            told = {"set": focal_words(view.reach.best), "depths": depths, "circle": view.circle_mm}
            notes.append(_("Depth of field with {set}: {depths} (circle {circle:.3f} mm).", **told))
        if heat and not heat.above_limit and heat.worst_air_c is not None:
            notes += heat_sentences(self.turn, self.units)
        if view and background_sentence(view):
            notes.append(background_sentence(view))
        return (*notes, *assumed_sentences(view.assumed if view else ()))

    @property
    def carry(self) -> tuple[str, ...]:
        """What to carry, whose it is where it is lent, and water."""
        lines = carry_sentences(self.view.carry, self.units) if self.view and self.view.carry else ()
        water = water_words(self.turn.heat, self.units) if self.turn.heat else ""
        loans = loan_sentences(self.turn, self.names)
        return (*lines, *loans, *((_("Water: {water}.", water=water),) if water else ()))

    @property
    def in_hide(self) -> tuple[object, ...]:
        """The hide, the best view and the set: turns that have all alike stand together."""
        reach = self.view.reach if self.view else None
        return self.turn.hide_key, self.view.number if self.view else None, reach.best if reach else None

    @property
    def company(self) -> str:
        """Who sits there too."""
        return company_names(self.turn, self.names) or _("nobody, you are alone in the hide")

    @property
    def _notices(self) -> list[str]:
        """The cautions about the light; what is not said of every view of the hide names the view it is said of."""
        said = {view.name: [notice_sentence(one) for one in view.notices] for view in self.turn.views}
        return [
            text if all(text in other for other in said.values()) else f"{starting(name)}: {text}"
            for name, own in said.items()
            for text in own
        ]

    def _known(self, view: ViewPage | None) -> ViewFacts | None:
        return next((one for one in self.view_facts if view and one.view == view.name), None)

    def _facts(self, view: ViewPage) -> tuple[Fact, ...]:
        lines, known = [Fact(_("Perch"), perch_words(view, self.units))], self._known(view)
        if known is not None:
            lines.insert(0, Fact(_("Looks towards"), compass_text(known.bearing_deg)))
            if known.water_edge_m is not None:
                lines.append(Fact(_("Near edge of the water"), length_text(known.water_edge_m, self.units)))
            if known.glass_loss_stops:
                takes = ngettext("takes {number:g} stop", "takes {number:g} stops", known.glass_loss_stops)
                lines.append(Fact(_("Glass"), takes))
        return tuple(lines)


class CardLines(NamedTuple):
    """Facts, fills and sentences of a card that another one of the same hide may have as well."""

    facts: tuple[Fact, ...]
    fills: tuple[FillFact, ...]
    notes: tuple[str, ...]
    handling: tuple[str, ...]
    carry: tuple[str, ...]

    @classmethod
    def of(cls, card: Card) -> Self:
        """All lines of a card."""
        return cls(card.facts, card.fills, card.notes, card.handling, card.carry)


@dataclass(frozen=True, slots=True)
class HideCards:
    """The turns of one person in one hide, with one view and one set; what a later turn repeats is told once.

    What warns is told for each of them.
    """

    cards: tuple[Card, ...]

    @property
    def turns(self) -> tuple[tuple[Card, CardLines], ...]:
        """Each turn with what its card has to say beyond those before it."""
        told: set[object] = set()
        found = []
        for card in self.cards:
            lines = CardLines._make(tuple(one for one in own if one not in told) for own in CardLines.of(card))
            found.append((card, lines))
            told.update(one for own in CardLines.of(card) for one in own)
        return tuple(found)


def by_hide(cards: tuple[Card, ...]) -> tuple[HideCards, ...]:
    """The cards of one hide together, in the order of the first turn there."""
    groups: dict[tuple[object, ...], list[Card]] = {}
    for card in cards:
        groups.setdefault(card.in_hide, []).append(card)
    return tuple(HideCards(tuple(own)) for own in groups.values())


def fill_length(fill: FillFact, units: str) -> str:
    """How long the subject is."""
    return size_text(fill.length_min_cm, fill.length_max_cm, units)


def fill_share(fill: FillFact) -> str:
    """The part of the frame that it fills; empty where the set does not focus."""
    return "" if fill.fill is None else f"{100 * fill.fill:.0f} %"


def fill_other(fill: FillFact, view: ViewPage) -> str:
    """What another set would do for it; empty where the card's serves it best."""
    card = view.reach.best if view.reach else None
    return other_set_words(card, fill.other, fill.other_fill) if card and fill.other else ""


def _inside(label: str) -> str:
    """A label inside a sentence; German nouns keep their capitals."""
    return label if language() == "de" else label.lower()


def _own_cautions(turn: TurnPage) -> str:
    """The hide's cautions; long ones stand once under its name at the end of the briefing, not in every card."""
    text = turn.cautions.strip()
    is_long = len(text) > CAUTION_LETTERS or text.count("\n") >= CAUTION_LINES
    return _("See {hide} under Your hides.", hide=isolated(turn.hide)) if is_long else text


def _light_sentence(view: ViewPage) -> str:
    return f"{starting(light_words(view.light))}." if view.light else ""


def _depth(fact: DepthFact) -> Depth:
    return Depth(fact.distance_m, fact.near_m, math.inf if fact.far_m is None else fact.far_m, fact.f_number)
