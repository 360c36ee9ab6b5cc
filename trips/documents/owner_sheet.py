"""The owner's sheet: one page a day, with what the owner of the hides needs and nothing about people but names."""

from dataclasses import dataclass
from datetime import date

from participants.core.language import ngettext
from trips.documents.briefing import PaperHead
from trips.documents.quantities import Fact, day_text


@dataclass(frozen=True, slots=True)
class OwnerHide:
    """A hide in a session: names by seat ("left: Marta Olmedo"), times, and the owner's tasks there."""

    name: str
    people: tuple[str, ...]
    seated: str
    pick_up: str
    cars: str = ""
    tasks: str = ""


@dataclass(frozen=True, slots=True)
class OwnerSession:
    """A session with all hides in use and the cars that come; `people`: how many people are out."""

    name: str
    hours: str
    people: int
    hides: tuple[OwnerHide, ...] = ()
    cars: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()

    @property
    def total(self) -> str:
        """How many people, in words."""
        return ngettext("{number} person", "{number} people", self.people)


@dataclass(frozen=True, slots=True)
class HideTasks:
    """What there is to do in a hide on a day, and the sessions that it is used in."""

    hide: str
    sessions: str
    text: str


@dataclass(frozen=True, slots=True)
class OwnerSheet:
    """One day for the owner. `people`: different people out that day; `language`: what its words are in."""

    head: PaperHead
    day: date
    site: str
    people: int
    sessions: tuple[OwnerSession, ...] = ()
    facts: tuple[Fact, ...] = ()
    language: str = "en"

    @property
    def name(self) -> str:
        """The day in words."""
        return day_text(self.day)

    @property
    def tasks(self) -> tuple[HideTasks, ...]:
        """What there is to do in the hides of the day, once for each of them."""
        found: dict[tuple[str, str], list[str]] = {}
        for session in self.sessions:
            for hide in session.hides:
                if hide.tasks.strip():
                    found.setdefault((hide.name, hide.tasks), []).append(session.name)
        return tuple(HideTasks(name, ", ".join(sessions), text) for (name, text), sessions in found.items())
