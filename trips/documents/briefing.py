"""The briefing: what one person holds in the hand at half past five, as frozen values ready to print.

All moments are aware and carry the site's own zone; all lengths are already written in the person's units.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime

from trips.documents.meals import DayMeals
from trips.documents.quantities import Fact, clock_range_text, clock_text, short_day_text


@dataclass(frozen=True, slots=True)
class PaperHead:
    """What stands on every page of a paper: trip, title, which rota, and when the paper was made (local, with zone)."""

    trip: str
    title: str
    rota: str
    made: str
    time_zone: str = "UTC"
    draft: bool = False
    language: str = "en"


@dataclass(frozen=True, slots=True)
class TurnTimes:
    """The moments of one turn; None = not known yet. `hand_overs`: stretches in a seat that two people share."""

    starts_at: datetime
    ends_at: datetime
    leaves_at: datetime | None = None
    in_place_at: datetime | None = None
    pick_up_from: datetime | None = None
    pick_up_to: datetime | None = None
    hand_overs: tuple[tuple[datetime, datetime], ...] = ()

    @property
    def day(self) -> str:
        """The day on which the person has to be ready."""
        return short_day_text((self.leaves_at or self.starts_at).date())

    @property
    def leave(self) -> str:
        """When the car leaves."""
        return clock_text(self.leaves_at)

    @property
    def in_place(self) -> str:
        """When people sit."""
        return clock_text(self.in_place_at)

    @property
    def session(self) -> str:
        """From when to when the session lasts."""
        return clock_range_text(self.starts_at, self.ends_at)

    @property
    def pick_up(self) -> str:
        """The window in which people are fetched."""
        if self.pick_up_from is None or self.pick_up_to is None:
            return clock_text(None)
        return clock_range_text(self.pick_up_from, self.pick_up_to)

    @property
    def own_hours(self) -> str:
        """The stretches of a shared seat, empty for a whole turn."""
        return ", ".join(clock_range_text(start, end) for start, end in self.hand_overs)


@dataclass(frozen=True, slots=True)
class SettingsLine:
    """One line of settings, for still or for moving subjects; values that change go from start over middle to end."""

    label: str
    shutter: str
    aperture: str
    iso: str
    focus: str
    drive: str


@dataclass(frozen=True, slots=True)
class FillLine:
    """How large a subject gets in the frame: its length, share of the frame, and what that means."""

    subject: str
    length: str
    fill: str
    verdict: str


@dataclass(frozen=True, slots=True)
class ViewCard:
    """One view of the hide for this turn. `drawing`: the seat's drawing as SVG, `drawing_text` says it in words."""

    name: str
    facts: tuple[Fact, ...] = ()
    light: tuple[str, ...] = ()
    fills: tuple[FillLine, ...] = ()
    drawing: str = ""
    drawing_text: str = ""


@dataclass(frozen=True, slots=True)
class TurnCard:
    """The second look at a turn: views, settings with their reasons, warnings, what to carry, with whom.

    `windows`: the other views of the hide in a line each. `reasons`: why the settings are what they are; `limits`:
    where the light of this turn does not allow them.
    """

    views: tuple[ViewCard, ...] = ()
    windows: tuple[str, ...] = ()
    settings: tuple[SettingsLine, ...] = ()
    reasons: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    carry: tuple[str, ...] = ()
    company: str = ""


@dataclass(frozen=True, slots=True)
class BriefingTurn:
    """One turn, or (hide empty) a rest with its reason.

    `already_there`: nobody drives, the person stayed in the hide; `fetched`: said instead of a pick-up window.
    """

    session: str
    kind: str
    times: TurnTimes
    hide: str = ""
    seat: str = ""
    car: str = ""
    light: str = ""
    lens: str = ""
    way: str = ""
    note: str = ""
    stays: bool = False
    already_there: bool = False
    fetched: str = ""
    card: TurnCard = TurnCard()

    @property
    def rests(self) -> bool:
        """Whether this is a session without a turn."""
        return not self.hide


@dataclass(frozen=True, slots=True)
class DayLine:
    """A day of the trip: light and weather. Texts, because a day may have no sunrise."""

    day: date
    first_light: str
    sunrise: str
    sunset: str
    last_light: str
    forecast: str

    @property
    def name(self) -> str:
        """The day in few letters."""
        return short_day_text(self.day)


@dataclass(frozen=True, slots=True)
class PackItem:
    """One thing to bring; `note` says why or how many."""

    name: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class PackGroup:
    """Things to bring that belong together."""

    title: str
    items: tuple[PackItem, ...]


@dataclass(frozen=True, slots=True)
class HideSafety:
    """The safety card of a hide as participants get it: never the hide's position."""

    hide: str
    facts: tuple[Fact, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reminder:
    """A reminder about something that can hurt, and where it comes from."""

    title: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Etiquette:
    """One line of how people behave in a hide."""

    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Briefing:
    """Everything one person gets on paper. `page_url`: the person's own page, in the QR code, without any token.

    `cars_leave`: the place from which the cars leave, in words.
    """

    head: PaperHead
    person: str
    turns: tuple[BriefingTurn, ...] = ()
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
    def shared_reasons(self) -> tuple[str, ...]:
        """Reasons that stand behind the settings of more than one card; they are printed once."""
        said = Counter(reason for turn in self.turns for reason in turn.card.reasons)
        return tuple(reason for reason, times in said.items() if times > 1)

    @property
    def seated(self) -> tuple[BriefingTurn, ...]:
        """The turns that are not rests."""
        return tuple(turn for turn in self.turns if not turn.rests)
