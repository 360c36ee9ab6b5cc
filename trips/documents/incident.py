"""The record of an incident, for the insurer: what was noted when, what happened, who was told. No health notes."""

from dataclasses import dataclass

from trips.documents.briefing import PaperHead
from trips.documents.quantities import Fact

STATEMENT = (
    "Times are those noted on the day, by the clock of the site; what was taken back is shown too. This record was "
    "frozen when it was made; it is no legal advice."
)


@dataclass(frozen=True, slots=True)
class IncidentSeat:
    """Where somebody sat, and when they were ticked out and back; empty where nobody ticked."""

    hide: str
    seat: str
    person: str
    out: str
    back: str


@dataclass(frozen=True, slots=True)
class IncidentTime:
    """One line of what was noted."""

    clock: str
    words: str


@dataclass(frozen=True, slots=True)
class IncidentPaper:
    """All that a record says. `told`: who was told when, typed; `mailed`: the mails that the house sent."""

    head: PaperHead
    session: str
    facts: tuple[Fact, ...]
    happened: str
    told: str
    made_by: str
    seats: tuple[IncidentSeat, ...] = ()
    times: tuple[IncidentTime, ...] = ()
    mailed: tuple[IncidentTime, ...] = ()
