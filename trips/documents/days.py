"""What one person is told of their days, as frozen values: stored with an issue, read back unchanged.

Everything is in SI and aware moments; words and the person's units come when a page is drawn. Nothing here names a
hide's position, a health note, anybody's contact, or who is kept apart from whom.
"""

from dataclasses import dataclass
from datetime import date, datetime

from trips.core.advice import Carry, Line
from trips.core.reach import Reach


@dataclass(frozen=True, slots=True)
class LightInterval:
    """A stretch of a session with one class of light (front, side, back, top, none)."""

    name: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class LightCaution:
    """A caution about the light; kinds as in `trips.core.light`, `clears`: it ends within the session."""

    kind: str
    starts_at: datetime
    ends_at: datetime
    clears: bool = False


@dataclass(frozen=True, slots=True)
class ViewPage:
    """One view of the hide for this turn: its light, and what the person's gear does there for `subject`.

    `reach` None: no gear is typed in or nothing may be seen; its `focus_m` is left out. `still`, `moving`, `carry`:
    the settings card, None where there is no set to advise on. `number`: the view's place among the hide's, from 0.
    """

    name: str
    near_m: float
    far_m: float
    light: tuple[LightInterval, ...] = ()
    notices: tuple[LightCaution, ...] = ()
    good_minutes: float = 0.0
    subject: str = ""
    reach: Reach | None = None
    still: Line | None = None
    moving: Line | None = None
    carry: Carry | None = None
    assumed: tuple[str, ...] = ()
    number: int = 0


@dataclass(frozen=True, slots=True)
class HeatPage:
    """Heat and water of a turn: litres, bottles, worst air and worst in the hide (None: no forecast), later start.

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


@dataclass(frozen=True, slots=True)
class CallPage:
    """The way there and back; None where nobody drives (the person is in the hide already, or stays in it)."""

    car: str = ""
    plate: str = ""
    driver: str = ""
    leaves_at: datetime | None = None
    in_place_at: datetime | None = None
    pick_up_from: datetime | None = None
    pick_up_to: datetime | None = None


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


@dataclass(frozen=True, slots=True)
class SessionPage:
    """A session of the trip as one person has it: a turn, a rest (`rest`: why), or not there (`absent`)."""

    key: str
    name: str
    kind: str
    starts_at: datetime
    ends_at: datetime
    time_zone: str
    turn: TurnPage | None = None
    rest: str | None = None
    absent: bool = False


@dataclass(frozen=True, slots=True)
class DayPage:
    """A day of the trip: its light, None where the sun does not pass that height."""

    day: date
    first_light: datetime | None = None
    sunrise: datetime | None = None
    sunset: datetime | None = None
    last_light: datetime | None = None


@dataclass(frozen=True, slots=True)
class SitePage:
    """What a participant may know of the site: never its position, only the meeting point's."""

    name: str
    lodge: str = ""
    meeting_point: str = ""
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
