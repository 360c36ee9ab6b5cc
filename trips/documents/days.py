"""What one person is told of their days, as frozen values: stored with an issue, read back unchanged.

Everything is in SI and aware moments; words and the person's units come when a page is drawn. Nothing here names a
hide's position, a health note, anybody's contact, or who is kept apart from whom.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from participants.core.isolation import isolated
from participants.core.language import named
from trips.core.advice import Carry, Line, Row, ShutterStep
from trips.core.light import Interval
from trips.core.reach import GearSet, Reach
from trips.documents.frozen_json import from_json, rows_of_lines


def drawing_key(session_key: str, hide_key: str, number: int, units: str = "metric", language: str = "en") -> str:
    """Under which an issue keeps the drawing of a hide's view of that number in a session."""
    spoken = "" if language == "en" else f"/{language}"
    return f"{session_key}/{hide_key}/{number}" + ("/feet" if units == "feet" else "") + spoken


def drawing_keys(session_key: str, hide_key: str, number: int, units: str, language: str) -> tuple[str, ...]:
    """The keys of the drawings that may serve a reader, best first; the last one is always kept."""
    looks = ((units, language), ("metric", language), (units, "en"), ("metric", "en"))
    return tuple(dict.fromkeys(drawing_key(session_key, hide_key, number, *look) for look in looks))


@dataclass(frozen=True, slots=True)
class LightCaution:
    """A caution about the light; kinds as in `trips.core.light`, `clears`: it ends within the session."""

    kind: str
    starts_at: datetime
    ends_at: datetime
    clears: bool = False


@dataclass(frozen=True, slots=True)
class FillFact:
    """A subject in a view with the card's set: lengths in centimetres, part of the frame's long side, verdict.

    `fill` None: the set does not focus there. `other`, `other_fill`: another set of the person's that serves it better.
    `names`: (language, name) of the subject.
    """

    subject: str
    length_min_cm: float
    length_max_cm: float
    fill: float | None
    verdict: str
    other: GearSet | None = None
    other_fill: float | None = None
    names: tuple[tuple[str, str], ...] = ()

    @property
    def said(self) -> str:
        """The subject's name in the language in use."""
        return named(self.subject, self.names)


@dataclass(frozen=True, slots=True)
class DepthFact:
    """Depth of field at a distance, metres; `far_m` None = to infinity."""

    distance_m: float
    near_m: float
    far_m: float | None
    f_number: float


@dataclass(frozen=True, slots=True)
class ViewPage:
    """One view of the hide for this turn: its light, and what the person's gear does there for `subject`.

    `reach` None: no gear is typed in or nothing may be seen; its `focus_m` is left out. `still`, `moving`, `carry`:
    the settings card, None where there is no set to advise on; `rows` and `steps`: its settings by clock time; `fills`,
    `depths` (with the circle of confusion behind them) are of the same set, `reach.best`. `number`: the view's place
    among the hide's, from 0. `water`: whether the perch stands at water: "low" from a sunken seat, "below" from
    another, empty without. `bearing_deg`: the way the view looks, true. `names`: (language, name) of the subject.
    """

    name: str
    near_m: float
    far_m: float
    light: tuple[Interval, ...] = ()
    notices: tuple[LightCaution, ...] = ()
    good_minutes: float = 0.0
    subject: str = ""
    reach: Reach | None = None
    still: Line | None = None
    moving: Line | None = None
    carry: Carry | None = None
    fills: tuple[FillFact, ...] = ()
    depths: tuple[DepthFact, ...] = ()
    circle_mm: float | None = None
    assumed: tuple[str, ...] = ()
    number: int = 0
    rows: tuple[Row, ...] = ()
    steps: tuple[ShutterStep, ...] = ()
    water: str = ""
    bearing_deg: float | None = None
    names: tuple[tuple[str, str], ...] = ()

    @property
    def said(self) -> str:
        """The subject's name in the language in use; empty without one."""
        return named(self.subject, self.names)

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of the settings card, none where there is no set to advise on."""
        return tuple(line for line in (self.still, self.moving) if line is not None)


@dataclass(frozen=True, slots=True)
class HeatPage:
    """Heat and water of a turn: litres, bottles, worst air and worst in the hide (None: no forecast), later start.

    `least_air_c`: the coldest air of the session, None where an issue kept none.
    `assumed`: nobody measured how much hotter the hide is than the air.
    """

    water_l: float
    bottles: int
    tier: str = "unknown"
    worst_air_c: float | None = None
    worst_hide_c: float | None = None
    limit_c: float | None = None
    above_limit: bool = False
    starts_at: datetime | None = None
    ends_at: datetime | None = None
    assumed: bool = False
    least_air_c: float | None = None


@dataclass(frozen=True, slots=True)
class CallPage:
    """The way there and back; None where nobody drives (the person is in the hide already, or stays in it).

    `drives`: they drive the car. `back_at`: when the car that fetches them is back. `unsettled`: it cannot be driven.
    """

    car: str = ""
    plate: str = ""
    driver: str = ""
    leaves_at: datetime | None = None
    in_place_at: datetime | None = None
    pick_up_from: datetime | None = None
    pick_up_to: datetime | None = None
    drives: bool = False
    unsettled: bool = False
    back_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class DrivePage:
    """A drive of the person's: to drop people, or to `fetch` them. `stops`: hides in driving order, and when.

    `starts_in`, `ends_in`: the hide where the car waits meanwhile, because its driver sits there.
    """

    car: str
    leaves_at: datetime
    back_at: datetime
    stops: tuple[tuple[str, datetime], ...]
    fetch: bool = False
    starts_in: str = ""
    ends_in: str = ""


@dataclass(frozen=True, slots=True)
class LoanPage:
    """A piece of gear that is borrowed, lent or shared (`kind`) then; `other`: the key of the other one's place."""

    piece: str
    kind: str
    other: str


@dataclass(frozen=True, slots=True)
class TurnPage:
    """One person's turn in a session. `company`: the keys of the places who sit there too; `leaders`: by name."""

    hide_key: str
    hide: str
    seat: str
    call: CallPage
    walk_m: float = 0.0
    walk_min: float = 0.0
    steps: int = 0
    entry: str = "walk"
    doors: str = "free"
    toilet: bool = False
    company: tuple[str, ...] = ()
    leaders: tuple[str, ...] = ()
    own_hours: tuple[tuple[datetime, datetime], ...] = ()
    stays: bool = False
    views: tuple[ViewPage, ...] = ()
    heat: HeatPage | None = None
    cautions: str = ""
    loans: tuple[LoanPage, ...] = ()

    @property
    def where(self) -> str:
        """Hide and seat: "Alder, left"."""
        return f"{isolated(self.hide)}, {isolated(self.seat)}"


@dataclass(frozen=True, slots=True)
class SessionPage:
    """A session of the trip as one person has it: a turn, a rest (`rest`: why), or not there (`absent`).

    `sky`: clear, partly or overcast, as it was entered; empty where nothing was kept of it. `was`: the last turn that
    an earlier issue gave, where this one gives none; without its views and its heat. `drives`: what the person drives,
    with a turn or without.
    """

    key: str
    name: str
    kind: str
    starts_at: datetime
    ends_at: datetime
    time_zone: str
    turn: TurnPage | None = None
    rest: str | None = None
    absent: bool = False
    sky: str = ""
    was: TurnPage | None = None
    drives: tuple[DrivePage, ...] = ()

    @property
    def fetches(self) -> DrivePage | None:
        """The drive by which the person fetches people, and comes back; None where somebody else does."""
        return next((drive for drive in self.drives if drive.fetch), None)


@dataclass(frozen=True, slots=True)
class DayPage:
    """The sun of a local day: None where it does not pass that height; `stays`: "up" or "down" all day, or empty.

    First and last light are civil dawn and dusk.
    """

    day: date
    first_light: datetime | None = None
    sunrise: datetime | None = None
    sunset: datetime | None = None
    last_light: datetime | None = None
    stays: str = ""


@dataclass(frozen=True, slots=True)
class SitePage:
    """What a participant may know of the site: never its position, only the meeting point's."""

    name: str
    lodge: str = ""
    meeting_point: str = ""
    cars_leave_from: str = "lodge"
    meeting_latitude_deg: float | None = None
    meeting_longitude_deg: float | None = None
    arrival: str = ""
    emergency_number: str = ""
    hospital: str = ""
    radio: str = ""
    phone_coverage: str = ""


@dataclass(frozen=True, slots=True)
class DaysPage:
    """All that a person's days page shows of one rota. `guest`: comes without a camera."""

    trip: str
    rota_number: int
    time_zone: str
    guest: bool = False
    sites: tuple[SitePage, ...] = ()
    days: tuple[DayPage, ...] = ()
    sessions: tuple[SessionPage, ...] = ()

    def session(self, key: str) -> SessionPage | None:
        """The session of that key, None when the trip has none such."""
        return next((session for session in self.sessions if session.key == key), None)


def page_of(payload: Mapping[str, Any]) -> DaysPage:
    """The page that an issue keeps as JSON, of whatever age."""
    for session in payload.get("sessions", ()):
        for view in (session.get("turn") or {}).get("views", ()):
            rows_of_lines(view, session)
    return from_json(DaysPage, dict(payload))


def tells_what_was(payload: Mapping[str, Any]) -> bool:
    """Whether the payload says which turns earlier issues gave; one that was kept before does not."""
    return all("was" in session for session in payload.get("sessions", ()))
