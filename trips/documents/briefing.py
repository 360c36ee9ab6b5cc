"""What briefings are put together from, beside the turns: heads, days, things to bring, cautions, as frozen values."""

from dataclasses import dataclass
from datetime import date

from trips.documents.quantities import Fact, short_day_text


@dataclass(frozen=True, slots=True)
class PaperHead:
    """What stands on every page of a paper: trip, title, which rota, and when the paper was made (local, with zone).

    `leaders`: who leads, with telephones as they are when it is made.
    """

    trip: str
    title: str
    rota: str
    made: str
    time_zone: str = "UTC"
    draft: bool = False
    language: str = "en"
    leaders: tuple[Fact, ...] = ()


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
    """A reminder about something that can hurt, and where it comes from. `special`: it does not hold everywhere."""

    title: str
    text: str
    source: str = ""
    special: bool = False


@dataclass(frozen=True, slots=True)
class Etiquette:
    """One line of how people behave in a hide."""

    title: str
    text: str
