"""One turn on a person's card: the turn's page value with the facts of its views, put into words when asked."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import language, ngettext
from trips.core.advice import Depth, Row
from trips.documents.days import DepthFact, FillFact, SessionPage, TurnPage, ViewPage
from trips.documents.paper_facts import ViewFacts
from trips.documents.quantities import Fact, length_text
from trips.documents.wording.advice import (
    TO_DO,
    background_light,
    background_sentences,
    carry_sentences,
    compass_text,
    depth_words,
    handling_sentences,
    settings_reasons,
    step_sentences,
)
from trips.documents.wording.days import (
    HEAT_ASSUMED,
    company_names,
    doors_words,
    heat_sentences,
    kind_words,
    light_words,
    loan_sentences,
    notice_sentence,
    perch_words,
    ready_day,
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
WORST_NOTICES = ("sun_in_frame", "scent")  # before shadows, which only spoil a picture


@dataclass(frozen=True, slots=True)
class Card:
    """One turn: when and where, its best view, settings with their reasons, what to mind, what to carry, with whom.

    `view_facts`: of the hide's views; `names`: of the trip's people by place key; `drawing`: of the best view,
    SVG, or the address of its picture while the paper is printed, `wide` where it leaves no room beside it; `bar`: of
    its light, as `drawing`.
    """

    session: SessionPage
    turn: TurnPage
    view_facts: tuple[ViewFacts, ...] = ()
    units: str = "metric"
    names: Mapping[str, str] = field(default_factory=dict)
    drawing: str = ""
    bar: str = ""
    wide: bool = False

    @property
    def view(self) -> ViewPage | None:
        """The view with the best light; None for a guest, who reads nothing of light, gear and settings."""
        return self.turn.views[0] if self.turn.views else None

    @property
    def name(self) -> str:
        """Day and time of day: "Sat 8 May, early"."""
        return f"{ready_day(self.session)}, {kind_words(self.session)}"

    @property
    def view_name(self) -> str:
        """The best view by name where the hide has another: bar and settings are of it."""
        return self.view.name if self.view and len(self.turn.views) > 1 else ""

    @property
    def light(self) -> str:
        """The light of the best view."""
        return _light_sentence(self.view) if self.view else ""

    @property
    def other_views(self) -> tuple[str, ...]:
        """The light of the hide's other views, a line each."""
        return tuple(f"{starting(view.name)}: {_inside(_light_sentence(view))}" for view in self.turn.views[1:])

    @property
    def settings(self) -> tuple[Row, ...]:
        """The settings by clock time; a row that repeats the one before is left out, as the bar has the end."""
        rows = self.view.rows if self.view else ()
        pairs = zip((None, *rows), rows, strict=False)
        return tuple(row for before, row in pairs if before is None or _differ(before, row))

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
    def general(self) -> tuple[str, ...]:
        """What would hold on other cards as well: how to use the settings, focus, what is assumed."""
        heat = tuple(line for line in self._heat if line == _(HEAT_ASSUMED))
        if self.view is None:
            return heat
        handling = handling_sentences(self.view) if self.view.rows else ()
        return (*settings_reasons(self.view, TO_DO), *handling, *assumed_sentences(self.view.assumed), *heat)

    @property
    def limits(self) -> tuple[str, ...]:
        """That it is too dark throughout; what dawn and dusk allow from when is in the rows of the settings."""
        is_dark = not any(row.still or row.moving for row in self.settings)
        return step_sentences(self.view) if self.view and is_dark else ()

    @property
    def mind(self) -> tuple[str, ...]:
        """What to mind in this turn, the worst first: no car yet, heat, the sun in the frame, scent, shadows."""
        hot = self.turn.heat and self.turn.heat.above_limit
        unsettled, heat = unsettled_words(self.turn.call), (" ".join(self._air),) if hot else ()
        return tuple(dict.fromkeys((*((unsettled,) if unsettled else ()), *heat, *self._notices)))

    @property
    def heat(self) -> str:
        """Heat that is no warning, and water."""
        heat = self.turn.heat
        if heat is None:
            return ""
        air = () if heat.above_limit else self._air
        water = water_words(heat, self.units)
        return " ".join((*air, *((_("Water: {water}.", water=water),) if water else ())))

    @property
    def _air(self) -> tuple[str, ...]:
        """What the forecast means for this turn, without what is assumed in all of them."""
        return tuple(line for line in self._heat if line != _(HEAT_ASSUMED))

    @property
    def _heat(self) -> tuple[str, ...]:
        return heat_sentences(self.turn, self.units) if self.turn.heat else ()

    @property
    def always_minded(self) -> tuple[str, ...]:
        """What to mind in every turn of this hide, the worst first: no picture at all, cautions, doors, near limits."""
        view, turn, found = self.view, self.turn, []
        if view and view.reach and view.reach.verdict == "fault":
            found.append(reach_sentence(view.reach, view.said, self.units))
        found += [text for text in (_own_cautions(turn), doors_words(turn)) if text.strip()]
        if view and view.reach:
            found += [warning_sentence(one, self.units) for one in view.reach.warnings]
        return tuple(dict.fromkeys(found))

    @property
    def notes(self) -> tuple[str, ...]:
        """Reach where no subject is known, and depth of field."""
        view, notes = self.view, []
        if view and view.reach and view.reach.best and not view.fills:
            notes.append(reach_sentence(view.reach, view.said, self.units))
        if view and view.reach and view.reach.best and view.depths and view.circle_mm:
            depths = "; ".join(depth_words(_depth(one), self.units) for one in view.depths)
            told = {"set": focal_words(view.reach.best), "depths": depths, "circle": view.circle_mm}
            notes.append(_("Depth of field with {set}: {depths} (circle {circle:.3f} mm).", **told))
        return tuple(notes)

    @property
    def background(self) -> tuple[str, ...]:
        """What stands behind the subject, and its reflection."""
        return background_sentences(self.view) if self.view else ()

    @property
    def background_light(self) -> str:
        """The light that the background is told for."""
        return background_light(self.view) if self.view else ""

    @property
    def carry(self) -> tuple[str, ...]:
        """What to carry into the hide, on what it stands, and whose it is where it is lent."""
        lines = carry_sentences(self.view.carry, self.units) if self.view and self.view.carry else ()
        return (*lines, *loan_sentences(self.turn, self.names))

    @property
    def company(self) -> str:
        """Who sits there too."""
        return company_names(self.turn, self.names) or _("nobody, you are alone in the hide")

    @property
    def _notices(self) -> tuple[str, ...]:
        """The cautions, the worst first; what is not said of every view of the hide names the view it is said of."""
        views = self.turn.views
        said = {view.name: [notice_sentence(one) for one in view.notices] for view in views}
        told = [
            (one.kind not in WORST_NOTICES, notice_sentence(one), view.name) for view in views for one in view.notices
        ]
        told.sort(key=lambda one: one[0])
        return tuple(
            text if all(text in own for own in said.values()) else f"{starting(name)}: {text}"
            for _rank, text, name in told
        )

    def view_lines(self) -> tuple[str, ...]:
        """Each view of the hide with its facts, named where there are several."""
        views = sorted(self.turn.views, key=lambda view: view.number)
        named = len(views) > 1
        return tuple((f"{starting(view.name)}: " if named else "") + self._facts(view, named) for view in views)

    def _known(self, view: ViewPage | None) -> ViewFacts | None:
        return next((one for one in self.view_facts if view and one.view == view.name), None)

    def _facts(self, view: ViewPage, named: bool) -> str:
        facts, known = [Fact(_("Perch"), perch_words(view, self.units))], self._known(view)
        if known is not None:
            facts.insert(0, Fact(_("Looks towards"), compass_text(known.bearing_deg)))
            if known.water_edge_m is not None:
                facts.append(Fact(_("Near edge of the water"), length_text(known.water_edge_m, self.units)))
            if known.glass_loss_stops:
                takes = ngettext("takes {number:g} stop", "takes {number:g} stops", known.glass_loss_stops)
                facts.append(Fact(_("Glass"), takes))
        first = facts[0].label if not named else _inside(facts[0].label)
        told = [f"{first} {facts[0].text}", *(f"{_inside(one.label)} {one.text}" for one in facts[1:])]
        return f"{', '.join(told)}."


def _differ(one: Row, other: Row) -> bool:
    return (one.still, one.moving, one.dial) != (other.still, other.moving, other.dial)


def fill_share(fill: FillFact) -> str:
    """The part of the frame that it fills; empty where the set does not focus."""
    return "" if fill.fill is None else f"{100 * fill.fill:.0f} %"


def fill_other(fill: FillFact, view: ViewPage) -> str:
    """What another set would do for it; empty where the card's serves it best."""
    card = view.reach.best if view.reach else None
    return other_set_words(card, fill.other, fill.other_fill) if card and fill.other else ""


def _inside(label: str) -> str:
    """A label or sentence inside another; German nouns keep their capitals."""
    return label if language() == "de" else label[:1].lower() + label[1:]


def is_long(cautions: str) -> bool:
    """Whether a hide's own cautions have no room on its card."""
    return len(cautions) > CAUTION_LETTERS or cautions.count("\n") >= CAUTION_LINES


def _own_cautions(turn: TurnPage) -> str:
    """The hide's cautions; long ones stand once under its name at the end of the briefing, not in every card."""
    text = turn.cautions.strip()
    return _("See {hide} under Your hides.", hide=isolated(turn.hide)) if is_long(text) else text


def _light_sentence(view: ViewPage) -> str:
    return f"{starting(light_words(view.light))}." if view.light else ""


def _depth(fact: DepthFact) -> Depth:
    return Depth(fact.distance_m, fact.near_m, math.inf if fact.far_m is None else fact.far_m, fact.f_number)
