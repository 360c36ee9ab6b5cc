"""Reminders about what can hurt people or animals, each with where it comes from.

Titles of the sources are quoted from memory; "common practice" means that no source is claimed. All of it defers to
local law, the owner and the licence holder, and the sentence that says so is printed with it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from trips.documents.briefing import Etiquette, PaperHead, Reminder
from trips.documents.etiquette import etiquette_for

DEFERS = noted(
    "These are reminders, not permission or advice: local law, the land owner's instructions and the conditions of"
    " the licence holder come first. In an emergency call the number on this page."
)
SOURCES_NOTE = noted("Sources are named from memory; read them before you rely on them.")


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What decides which reminders a paper carries. `coldest_c`, `hottest_c`: air forecast, None = not known."""

    coldest_c: float | None = None
    hottest_c: float | None = None
    by_water: bool = False
    sunken: bool = False
    ladder: bool = False
    alone: bool = False


HEAT = Reminder(
    noted("Heat"),
    noted(
        "Drink before you are thirsty, about a glass every 15 to 20 minutes, and rest in shade. Confusion, hot "
        "skin or collapse: call for help at once, cool with water and air."
    ),
    "US OSHA and NIOSH, Water. Rest. Shade.; US National Weather Service, Heat index",
)
COLD = Reminder(
    noted("Cold and wind chill"),
    noted(
        "Sitting still cools faster than walking. Dry layers, cover head and hands; shivering that stops, slurred "
        "speech or clumsiness: get into shelter and call."
    ),
    "Environment Canada and US National Weather Service, Wind chill index, 2001",
)
FUMES = Reminder(
    noted("Heater fumes"),
    noted(
        "Never burn gas, petrol or charcoal in a closed hide. Headache, dizziness, sickness: everybody out into "
        "the air and call."
    ),
    "US Centers for Disease Control, Carbon monoxide poisoning",
)
LIGHTNING = Reminder(
    noted("Lightning"),
    noted(
        "At the first thunder stay in the hide away from metal, or in the car; leave 30 minutes after the last "
        "thunder. Not under lone trees, not on a tower hide."
    ),
    "US National Weather Service, Lightning safety",
)
FLOOD = Reminder(
    noted("Flood"),
    noted(
        "Water rises fast in a sunken hide and at a ford. Leave while the way out is dry; neither walk nor drive "
        "through moving water."
    ),
    "US National Weather Service, Turn around, don't drown",
)
FIRE = Reminder(
    noted("Fire risk"),
    noted(
        "No smoking, no flame, no car on dry grass. Smoke in sight: call, and go where the leader said, not towards it."
    ),
    noted("common practice, no source"),
)
SNAKES = Reminder(
    noted("Snakes"),
    noted(
        "Look before you put down a hand or foot, shake out boots and bags. Bitten: keep still, take off rings, "
        "splint the limb, call. Do not cut, suck or tie it off."
    ),
    "World Health Organization, Guidelines for the management of snakebites, 2016",
)
TICKS = Reminder(
    noted("Ticks"),
    noted(
        "Trousers into socks, look over the skin every evening. Pull a tick straight out with fine tweezers; see a"
        " doctor with a rash or fever in the weeks after."
    ),
    "European Centre for Disease Prevention and Control, Tick-borne diseases",
)
CATTLE = Reminder(
    noted("Cattle and dogs"),
    noted(
        "Keep away from cows with calves and from bulls, never between them; walk round, do not run. Stand still "
        "for a guarding dog and speak quietly. Close each gate as you found it."
    ),
    "UK Health and Safety Executive, Cattle and public access, AIS17",
)
WATER = Reminder(
    noted("Water edge"),
    noted(
        "Banks are steep, soft and slippery, above all in the dark. Fallen in cold water: float first, call, then swim."
    ),
    "Royal National Lifeboat Institution, Float to live",
)
VEHICLES = Reminder(
    noted("Vehicles near sunken hides"),
    noted(
        "The roof of a sunken hide does not carry a car and is hard to see. Drivers stop where the leader said; "
        "people wait until the car stands."
    ),
    noted("common practice, no source"),
)
LADDER = Reminder(
    noted("Ladders and towers"),
    noted("Three points of contact, hands free: gear goes up on the rope. One person on the ladder at a time."),
    "UK Health and Safety Executive, Safe use of ladders, LA455",
)
LONE = Reminder(
    noted("Alone in a hide"),
    noted(
        "Agree on a time to be heard from and on who comes when you are not. Keep phone or radio on you, not in "
        "the bag."
    ),
    "UK Health and Safety Executive, Lone working, INDG73",
)
HUNTING = Reminder(
    noted("Hunting land"),
    noted(
        "Where hunting takes place, wear a bright vest on every walk, keep to the agreed way, and leave the hide "
        "only when fetched."
    ),
    noted("common practice, no source"),
)
DISTURBANCE = Reminder(
    noted("The animals come first"),
    noted(
        "No bait, sound or light but the owner's. When an animal stops feeding or leaves young alone, stop and lie"
        " low. Tell nobody the place of a sensitive species."
    ),
    "European Union, Birds Directive 2009/147/EC, article 5",
)
BATTERIES = Reminder(
    noted("Batteries on the journey"),
    noted("Spare lithium batteries travel in the cabin, contacts covered; above 100 Wh ask the carrier first."),
    "International Air Transport Association, Dangerous Goods Regulations, table 2.3.A",
)
ALWAYS = (LIGHTNING, FLOOD, FIRE, SNAKES, TICKS, CATTLE, HUNTING, DISTURBANCE, BATTERIES)


def cautions_for(circumstances: Circumstances) -> tuple[Reminder, ...]:
    """The reminders that fit: the special ones, then those for everybody. What is not known counts as possible."""
    hot = circumstances.hottest_c is None or circumstances.hottest_c >= 27.0
    cold = circumstances.coldest_c is None or circumstances.coldest_c <= 10.0
    special: Iterable[tuple[bool, Reminder]] = (
        (hot, HEAT),
        (cold, COLD),
        (cold, FUMES),
        (circumstances.by_water, WATER),
        (circumstances.sunken, VEHICLES),
        (circumstances.ladder, LADDER),
        (circumstances.alone, LONE),
    )
    own = tuple(replace(_said(caution), special=True) for fits, caution in special if fits)
    return (*own, *map(_said, ALWAYS))


def _said(caution: Reminder) -> Reminder:
    """In the language in use; a published source keeps its title."""
    return replace(caution, title=_(caution.title), text=_(caution.text), source=_(caution.source))


@dataclass(frozen=True, slots=True)
class TakeCare:
    """The sheet for the whole group: every caution with its source, and how people behave in a hide."""

    head: PaperHead
    cautions: tuple[Reminder, ...]
    manners: tuple[Etiquette, ...]
    defers: str
    sources_note: str


def take_care(head: PaperHead) -> TakeCare:
    """The sheet in the language in use."""
    everything = Circumstances(by_water=True, sunken=True, ladder=True, alone=True)
    return TakeCare(head, cautions_for(everything), etiquette_for(True), _(DEFERS), _(SOURCES_NOTE))
