"""A person's briefing out of their days page: the same words as the page, laid out for paper."""

from collections import Counter
from dataclasses import dataclass

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.language import language
from participants.wording import item_sentence
from trips.documents.briefing import DayLine, Etiquette, HideSafety, PackGroup, PackItem, PaperHead, Reminder
from trips.documents.briefing_cards import Card, is_long
from trips.documents.days import DayPage, DaysPage, SessionPage, SitePage, TurnPage, drawing_keys
from trips.documents.etiquette import etiquette_for
from trips.documents.hide_cards import HideCard, by_hide
from trips.documents.meals import DayMeals, MealLine, days_alike
from trips.documents.paper_facts import BriefingSource, DayAir, HideFacts, PersonFacts, SiteFacts, TripFacts
from trips.documents.quantities import (
    Fact,
    clock_range_text,
    clock_text,
    day_text,
    days_text,
    fact,
    length_text,
    position_text,
    temperature_text,
    to_follow,
)
from trips.documents.safety import Circumstances, cautions_for
from trips.documents.wording.advice import light_short
from trips.documents.wording.days import steps_words, way_words
from trips.documents.wording.reach import reach_words, set_words

SHORT_ENTRIES = {"stoop": noted("stoop"), "ladder": noted("ladder"), "crawl": noted("crawl")}
PACK_TITLES = {
    "camera": noted("Camera"),
    "power": noted("Power"),
    "support": noted("Supports, by hide"),
    "water": noted("Water"),
    "clothing": noted("On you"),
    "manners": noted("In the hide"),
    "air": noted("On the aircraft"),
}


@dataclass(frozen=True, slots=True)
class Briefing:
    """Everything one person gets on paper: what they hold in the hand at half past five.

    `sessions`: those with a turn or a rest. `page_url`: the person's own page, in the QR code, without any token.
    `cars_leave`: the place from which the cars leave, in words.
    """

    head: PaperHead
    person: str
    units: str = "metric"
    sessions: tuple[SessionPage, ...] = ()
    cards: tuple[Card, ...] = ()
    days: tuple[DayLine, ...] = ()
    meals: tuple[DayMeals, ...] = ()
    arrival: tuple[Fact, ...] = ()
    packing: tuple[PackGroup, ...] = ()
    etiquette: tuple[Etiquette, ...] = ()
    hides: tuple[HideSafety, ...] = ()
    cautions: tuple[Reminder, ...] = ()
    site_facts: tuple[Fact, ...] = ()
    emergency: tuple[Fact, ...] = ()
    page_url: str = ""
    dates: str = ""
    cars_leave: str = "the lodge"

    @property
    def meal_days(self) -> tuple[tuple[str, tuple[MealLine, ...]], ...]:
        """The meals, days in a row that are alike as one."""
        return days_alike(self.meals)

    @property
    def by_hide(self) -> tuple[HideCard, ...]:
        """A card for each hide the person sits in."""
        return by_hide(self.cards, self.hides, self.etiquette)

    @property
    def shared(self) -> tuple[str, ...]:
        """Sentences that hold for the settings in more than one hide; they are printed once."""
        said = Counter(line for hide in self.by_hide for line in hide.general)
        return tuple(line for line, times in said.items() if times > 1)

    @property
    def special(self) -> tuple[Reminder, ...]:
        """The cautions that do not hold for everybody on the trip."""
        return tuple(one for one in self.cautions if one.special)

    @property
    def more_of_hides(self) -> tuple[Etiquette, ...]:
        """What is too long for a hide's card: its own cautions, then its own rules."""
        cautions = (Etiquette(one.hide, text) for one in self.hides for text in one.cautions)
        own = {one.hide for one in self.hides}
        rules = (one for one in self.etiquette if one.title in own)
        return tuple(one for one in (*cautions, *rules) if is_long(one.text))


def briefing_from(source: BriefingSource) -> Briefing:
    """The briefing of one person."""
    page, person, trip = source.page, source.person, source.trip
    turns = [session.turn for session in page.sessions if session.turn is not None]
    own_hides = [hide for hide in trip.hides if hide.key in {turn.hide_key for turn in turns}]
    rules = tuple((hide.name, hide.etiquette) for hide in own_hides)
    return Briefing(
        head=source.head,
        person=person.name,
        units=person.units,
        sessions=tuple(one for one in page.sessions if one.turn is not None or one.rest is not None or one.drives),
        cards=tuple(_card(one, one.turn, source) for one in page.sessions if one.turn is not None),
        days=tuple(_day_line(day, trip.air, person.units) for day in page.days),
        meals=source.meals,
        arrival=_arrival(page, person),
        packing=_packing(person),
        etiquette=etiquette_for(any(turn.company or turn.leaders for turn in turns), rules) if turns else (),
        hides=tuple(_hide_safety(hide, turns, person.units) for hide in own_hides),
        cautions=_cautions(page, trip, own_hides, turns),
        site_facts=tuple(line for site in page.sites for line in _site_facts(site, trip.sites, len(page.sites) > 1)),
        emergency=_emergency(page, person, trip),
        page_url=source.page_url,
        dates=days_text(trip.starts_on, trip.ends_on),
        cars_leave=cars_leave(page.sites),
    )


def cars_leave(sites: tuple[SitePage, ...]) -> str:
    """Where the cars leave; described as the leader does where there is but one site."""
    places = {site.cars_leave_from for site in sites}
    meeting = places == {"meeting"}
    own = (sites[0].meeting_point if meeting else sites[0].lodge).strip() if len(sites) == 1 else ""
    what = _("the meeting point") if meeting else _("the lodge")
    return f"{what} ({isolated(own)})" if own else what


def _card(session: SessionPage, turn: TurnPage, source: BriefingSource) -> Card:
    person = source.person
    place = (session.key, turn.hide_key, turn.views[0].number) if turn.views else ("", "", 0)
    drawings = (source.drawings.get(key, "") for key in drawing_keys(*place, person.units, language()))
    return Card(
        session=session,
        turn=turn,
        view_facts=tuple(one for one in person.views if one.hide == turn.hide_key),
        units=person.units,
        names=source.names,
        drawing=next(filter(None, drawings), ""),
    )


def short_way(turn: TurnPage, units: str) -> str:
    """The way from the car in few words: "walk 40 m, 5 steps, stoop"."""
    walk = _("walk {walk}", walk=length_text(turn.walk_m, units)) if turn.walk_m else _("no walk")
    entry = "" if turn.entry == "walk" else _(SHORT_ENTRIES[turn.entry])
    return ", ".join(part for part in (walk, steps_words(turn.steps), entry) if part)


def best_light(turn: TurnPage) -> str:
    """When the perch of the best view is lit, and how: "front 07:44–10:23, side 10:23–10:45"."""
    if not turn.views:
        return ""
    view = turn.views[0]
    lit = [part for part in view.light if part.name not in ("none", "shade")] or list(view.light)[:1]
    words = ", ".join(f"{light_short(part.name)} {clock_range_text(part.starts_at, part.ends_at)}" for part in lit)
    return f"{isolated(view.name)}: {words}" if len(turn.views) > 1 else words


def best_lens(turn: TurnPage) -> str:
    """The set to use at the best view, or that it is to follow."""
    if not turn.views:
        return ""
    reach = turn.views[0].reach
    if reach is None or (reach.best is None and reach.verdict != "fault"):
        return _("gear to follow")
    if reach.best is None:
        return _("{verdict}: see the card", verdict=reach_words(reach))
    return set_words(reach.best)


def _day_line(day: DayPage, airs: tuple[DayAir, ...], units: str) -> DayLine:
    air = next((one for one in airs if one.day == day.day), None)
    forecast = to_follow()
    if air is not None:
        low, high = temperature_text(air.lowest_c, units), temperature_text(air.highest_c, units)
        forecast = low if low == high else _("{low} to {high}", low=low, high=high)
    moments = (day.first_light, day.sunrise, day.sunset, day.last_light)
    first, rise, down, last = (_("none") if moment is None else clock_text(moment) for moment in moments)
    return DayLine(day.day, first, rise, down, last, forecast)


def _arrival(page: DaysPage, person: PersonFacts) -> tuple[Fact, ...]:
    comings = tuple(
        fact(label, f"{clock_text(moment)}, {day_text(moment.date())}" if moment else None)
        for label, moment in ((_("You arrive"), person.arrives_at), (_("You leave"), person.leaves_at))
    )
    sites = tuple(line for site in page.sites for line in _site_arrival(site, len(page.sites) > 1))
    return comings + (sites or (fact(_("Meeting point"), None),))


def _site_arrival(site: SitePage, several: bool) -> tuple[Fact, ...]:
    where = f" ({site.name})" if several else ""
    position = position_text(site.meeting_latitude_deg, site.meeting_longitude_deg)
    return (
        fact(_of(_("Meeting point"), where), site.meeting_point),
        Fact(_("Map position of the meeting point"), position, position != to_follow()),
        fact(_of(_("How to get there"), where), site.arrival),
        fact(_of(_("Lodge"), where), site.lodge),
    )


def _of(label: str, where: str) -> str:
    """The label with the site it is about, where a trip has several."""
    return f"{label}{where}"


def _packing(person: PersonFacts) -> tuple[PackGroup, ...]:
    groups = []
    for key, title in PACK_TITLES.items():
        items = tuple(PackItem(item_sentence(item, person.units)) for item in person.packing if item.group == key)
        if items:
            groups.append(PackGroup(_(title), items))
    return tuple(groups)


def _hide_safety(hide: HideFacts, turns: list[TurnPage], units: str) -> HideSafety:
    turn = next(turn for turn in turns if turn.hide_key == hide.key)
    facts = (
        fact(_("Way"), way_words(turn, units)),
        fact(_("Rescue point"), hide.rescue_point),
        fact(_("Nearest road"), hide.nearest_road),
    )
    return HideSafety(hide.name, facts, (hide.cautions,) if hide.cautions.strip() else ())


def _cautions(page: DaysPage, trip: TripFacts, hides: list[HideFacts], turns: list[TurnPage]) -> tuple[Reminder, ...]:
    airs = [air for air in trip.air if page.days]
    return cautions_for(
        Circumstances(
            coldest_c=min((air.lowest_c for air in airs), default=None),
            hottest_c=max((air.highest_c for air in airs), default=None),
            by_water=any(hide.by_water for hide in hides),
            sunken=any(hide.sunken for hide in hides),
            ladder=any(hide.entry == "ladder" for hide in hides),
            alone=any(not (turn.company or turn.leaders) for turn in turns),
        )
    )


def _site_facts(site: SitePage, facts: tuple[SiteFacts, ...], several: bool) -> tuple[Fact, ...]:
    more = next((one for one in facts if one.name == site.name), SiteFacts(site.name))
    where = f" ({site.name})" if several else ""
    return (
        fact(_of(_("Phone coverage"), where), site.phone_coverage),
        fact(_of(_("Radio"), where), site.radio),
        fact(_of(_("Hazards"), where), more.hazards),
    )


def _emergency(page: DaysPage, person: PersonFacts, trip: TripFacts) -> tuple[Fact, ...]:
    lines: list[Fact] = []
    for site in page.sites or (SitePage(""),):
        more = next((one for one in trip.sites if one.name == site.name), SiteFacts(site.name))
        where = f" ({site.name})" if len(page.sites) > 1 else ""
        owner = ", ".join(isolated(part) for part in (more.owner, more.owner_contact) if part)
        lines += [
            fact(_of(_("Emergency number"), where), site.emergency_number),
            fact(_of(_("Hospital"), where), site.hospital),
            fact(_of(_("Rescue point"), where), more.rescue_point),
            fact(_of(_("Meeting point"), where), site.meeting_point),
            fact(_of(_("Owner of the hides"), where), owner),
        ]
    return (*lines, fact(_("Your emergency contact"), person.emergency_contact))
