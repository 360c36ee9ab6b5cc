"""What a person reads of a turn before anything else: leave, seat, gear, settings, water, and what changed of these."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from participants.core.language import gettext as _
from participants.core.packing import COLD_C, WARM_C
from trips.core.advice import Row
from trips.documents.briefing_cards import Card
from trips.documents.briefing_pages import best_lens, cars_leave
from trips.documents.changes import PageChange
from trips.documents.days import DaysPage, SessionPage, SitePage, ViewPage
from trips.documents.meals import DayMeals
from trips.documents.quantities import short_day_text, temperature_text
from trips.documents.wording.advice import support_words
from trips.documents.wording.changes import old_words
from trips.documents.wording.now import countdown_words, water_short

PLACE_LETTERS = 34  # two lines beside the time on a narrow phone
# Which line of the card shows what a change was about; what is not here is told below the card.
LINES = {
    "turn_added": "hide",
    "hide": "hide",
    "seat": "hide",
    "leaves_at": "leave",
    "car": "car",
    "pieces": "gear",
    "water": "water",
    "forecast": "water",
    "hours": "hours",
    "ends_at": "hours",
}


@dataclass(frozen=True, slots=True)
class NowCard:
    """A turn at a moment; `card`: the turn as on paper, `place`: where the car leaves, `changes`: of its session."""

    card: Card
    now: datetime
    place: str = ""
    changes: tuple[PageChange, ...] = ()

    @property
    def session(self) -> SessionPage:
        """The session of the turn."""
        return self.card.session

    @property
    def leaves_at(self) -> datetime:
        """When the person has to go, or the session's start for somebody who is there already."""
        return self.card.turn.call.leaves_at or self.session.starts_at

    @property
    def countdown(self) -> str:
        """How long until the person leaves, or until the session that runs ends."""
        return countdown_words(self.leaves_at, self.session.ends_at, self.now)

    @property
    def gear(self) -> str:
        """The set and what it stands on: "600 mm f/4, bean bag"; empty without a camera."""
        view = self.card.view
        stands_on = support_words(view.carry.support) if view and view.carry else ""
        return ", ".join(filter(None, (best_lens(self.card.turn), stands_on)))

    @property
    def water(self) -> str:
        """Water and clothes: "3 l of water, warm layers (4 °C)"."""
        heat, units = self.card.turn.heat, self.card.units
        if heat is None:
            return ""
        clothes = ""
        if heat.least_air_c is not None and heat.least_air_c <= COLD_C:
            clothes = _("warm layers ({air})", air=temperature_text(heat.least_air_c, units))
        elif heat.worst_air_c is not None:
            air = temperature_text(heat.worst_air_c, units)
            clothes = (
                _("sun hat ({air})", air=air) if heat.worst_air_c >= WARM_C else _("light clothes ({air})", air=air)
            )
        return ", ".join(filter(None, (water_short(heat, units), clothes)))

    @property
    def rows(self) -> tuple[tuple[Row, bool], ...]:
        """The settings by clock time, and whether the row is to be seen at once: that of now and the next one."""
        rows = self.card.settings
        present = max(sum(row.at <= self.now for row in rows) - 1, 0)
        return tuple((row, present <= number <= present + 1) for number, row in enumerate(rows))

    @property
    def was(self) -> dict[str, str]:
        """What a line of the card said before, by the line."""
        found = {}
        for change in self.changes:
            if change.kind in LINES:
                old = old_words(change, self.card.units)
                found[LINES[change.kind]] = _("was {old}", old=old) if old else _("new")
        return found


def leave_from(sites: tuple[SitePage, ...]) -> str:
    """Where the cars leave, as on paper; a long description stands with the site alone."""
    if not sites:
        return ""
    place = cars_leave(sites)
    return place if len(place) <= PLACE_LETTERS else place.partition(" (")[0]


def rows_to_show(view: ViewPage) -> tuple[tuple[Row, bool], ...]:
    """The settings of a view by clock time, all of them to be seen."""
    return tuple((row, True) for row in view.rows)


def now_cards(
    page: DaysPage, units: str, names: Mapping[str, str], changes: Iterable[PageChange], now: datetime
) -> dict[str, NowCard]:
    """The card of every turn of a person, by the key of its session. `names`: of the trip's people by place key."""
    changed, place = tuple(changes), leave_from(page.sites)
    return {
        one.key: NowCard(
            Card(one, one.turn, units=units, names=names), now, place, tuple(c for c in changed if c.session == one.key)
        )
        for one in page.sessions
        if one.turn is not None
    }


def next_meal(meals: Iterable[DayMeals], now: datetime, until: datetime) -> str:
    """The first meal from now on that begins until a moment, named with its day where that is not today's."""
    local = now.astimezone(until.tzinfo)
    for day in meals:
        for meal in day.meals:
            at = datetime.combine(day.day, meal.at, tzinfo=until.tzinfo)
            if local <= at <= until and at - local < timedelta(days=1):
                when = meal.clock if day.day == local.date() else f"{short_day_text(day.day)}, {meal.clock}"
                return f"{when} {meal.words}"
    return ""
