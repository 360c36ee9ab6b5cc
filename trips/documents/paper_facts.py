"""What papers need beyond the days pages, as frozen values in SI: stored with an issue, read back unchanged.

What participants may know: nothing here names a hide's position, a health note, or who is kept apart from whom.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from participants.core.packing import Item
from trips.documents.briefing import PaperHead
from trips.documents.days import DaysPage
from trips.documents.meals import DayMeals


@dataclass(frozen=True, slots=True)
class ViewFacts:
    """One view of a hide: name, bearing (true), water edge, glass."""

    hide: str
    view: str = field(metadata={"before": "window"})
    bearing_deg: float
    water_edge_m: float | None = None
    glass_loss_stops: float = 0.0


@dataclass(frozen=True, slots=True)
class PersonFacts:
    """What the papers of one person add: units, when they come and go, facts of views, packing list.

    `page_path`: where their page stands on the site, without any token.
    """

    name: str
    units: str
    arrives_at: datetime | None = None
    leaves_at: datetime | None = None
    emergency_contact: str = ""
    views: tuple[ViewFacts, ...] = field(default=(), metadata={"before": "windows"})
    packing: tuple[Item, ...] = ()
    page_path: str = ""


@dataclass(frozen=True, slots=True)
class HideFacts:
    """A hide's safety facts and rules, without its position. `by_water`: a view has a water edge."""

    key: str
    name: str
    seats: int
    entry: str = "walk"
    sunken: bool = False
    by_water: bool = False
    rescue_point: str = ""
    nearest_road: str = ""
    cautions: str = ""
    etiquette: str = ""


@dataclass(frozen=True, slots=True)
class DayAir:
    """The air forecast over a day's sessions, Celsius."""

    day: date
    lowest_c: float
    highest_c: float


@dataclass(frozen=True, slots=True)
class SiteFacts:
    """What people are told of a site besides `SitePage`."""

    name: str
    rescue_point: str = ""
    owner: str = ""
    owner_contact: str = ""
    hazards: str = ""


@dataclass(frozen=True, slots=True)
class TripFacts:
    """What the papers of everybody share."""

    trip: str
    leader: str
    starts_on: date
    ends_on: date
    time_zone: str
    units: str = "metric"
    sites: tuple[SiteFacts, ...] = ()
    hides: tuple[HideFacts, ...] = ()
    air: tuple[DayAir, ...] = ()


@dataclass(frozen=True, slots=True)
class BriefingSource:
    """Everything one briefing is made of.

    `drawings`: SVG by `drawing_key`; `names`: of the trip's people by place key. `meals`: as they stand
    today, whatever was issued.
    """

    head: PaperHead
    page: DaysPage
    person: PersonFacts
    trip: TripFacts
    page_url: str = ""
    drawings: Mapping[str, str] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    meals: tuple[DayMeals, ...] = ()
