"""The light of a hide on a day and through a year, and of a trip: values made ready for pages."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from trips.assemble import TripValues, hide_value, rules_value, session_value, trip_values
from trips.assemble.places import sun_day
from trips.assemble.points import own_session
from trips.core.heat import SessionHeat, session_heat
from trips.core.light import Framing, SessionLight, ViewLight, session_light, trip_light, year_maps
from trips.core.sun import day_bounds
from trips.core.values import LightSettings, Session
from trips.documents.days import DayPage
from trips.documents.drawings import SeatOptions, YearOptions, seat_drawing, year_drawing
from trips.documents.wording.heat import heat_words
from trips.documents.wording.light import ASSUMED_WORDS
from trips.models import Hide, Trip
from trips.models import Session as SessionRow


@dataclass(frozen=True)
class LightChoice:
    """What the light page is asked for."""

    day: date
    wish: str = "front"
    sky: str = "clear"
    focal_mm: float = 600.0


@dataclass(frozen=True)
class ViewDay:
    """One view on a day: its light, its drawings as SVG, its sessions, what is assumed."""

    light: ViewLight
    drawing: str
    year: str
    sessions: tuple[tuple[Session, ViewLight], ...]
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class HideDay:
    """A hide on a day."""

    choice: LightChoice
    sun: DayPage
    views: tuple[ViewDay, ...]
    best: tuple[tuple[Session, SessionLight], ...]
    settings: LightSettings


def day_session(day: date, time_zone: str, sky: str) -> Session:
    """A whole local civil day as one stretch."""
    zone = ZoneInfo(time_zone)
    starts, ends = (datetime.fromtimestamp(stamp, zone) for stamp in day_bounds(day, time_zone))
    return Session("day", f"{day}", starts, ends, sky=sky)


def hide_day(hide: Hide, trip: Trip | None, choice: LightChoice, units: str) -> HideDay:
    """Drawings, intervals and cautions of all views of a hide for a day, with that day's sessions of the trip."""
    value = hide_value(hide, choice.day.month)
    settings = rules_value(getattr(trip, "rules", None)).light
    framing = Framing(focal_mm=choice.focal_mm)
    whole = session_light(
        value, day_session(choice.day, hide.site.time_zone, choice.sky), choice.wish, settings, framing
    )
    sessions = _sessions_on(hide, trip, choice.day)
    lights = trip_light([value], sessions, choice.wish, settings, framing)
    best = tuple((session, lights[value.key, session.key]) for session in sessions if value.views)
    years = year_maps([(value, view) for view in value.views], choice.day.year, choice.wish, choice.sky, settings)
    options = YearOptions(
        trip=(trip.starts_on, trip.ends_on) if trip else None,
        months=tuple((row.subject.name, frozenset(row.months)) for row in hide.hide_subjects.all() if row.months),
    )
    assumed = [name for name in value.assumed if name in ("roof_height_m", "width_m")]  # what bears on the light
    views = tuple(
        ViewDay(
            light=light,
            drawing=seat_drawing(light, SeatOptions(f"seat-{number}", tuple(sessions), framing, units)),
            year=year_drawing(year, light.view.name, replace(options, key=f"year-{number}")),
            sessions=tuple((session, found.views[number]) for session, found in best),
            assumed=tuple(ASSUMED_WORDS[name] for name in (*light.view.assumed, *assumed)),
        )
        for number, (light, year) in enumerate(zip(whole.views, years, strict=True))
    )
    return HideDay(choice, sun_day(hide.site, choice.day), views, best, settings)


def _sessions_on(hide: Hide, trip: Trip | None, day: date) -> list[Session]:
    """The trip's sessions at the hide's site that begin on that local day."""
    if trip is None:
        return []
    starts, ends = day_bounds(day, hide.site.time_zone)
    zone = ZoneInfo(hide.site.time_zone)
    rows = SessionRow.objects.filter(
        trip=trip,
        site=hide.site,
        starts_at__gte=datetime.fromtimestamp(starts, zone),
        starts_at__lt=datetime.fromtimestamp(ends, zone),
    )
    return [session_value(row) for row in rows.select_related("site").prefetch_related("forecasts")]


def sketch_drawings(light: SessionLight, units: str) -> list[str]:
    """The drawings of a hide as typed, one for each view."""
    return [seat_drawing(view, SeatOptions(f"seat-{number}", units=units)) for number, view in enumerate(light.views)]


@dataclass(frozen=True)
class HideLight:
    """A hide in a session: None where the hide stands on another site."""

    hide: Hide
    light: SessionLight | None
    own_hours: bool = False
    heat: SessionHeat | None = None
    enough_min: float = 60.0

    @property
    def good(self) -> bool:
        """Whether a turn there would have good light for long enough."""
        return bool(self.light and self.light.good_minutes >= self.enough_min)


@dataclass(frozen=True)
class SessionLights:
    """A session of a trip with the light of every hide in it."""

    row: SessionRow
    session: Session
    cells: tuple[HideLight, ...]
    heat: tuple[tuple[str, str], ...]
    hottest: SessionHeat | None


@dataclass(frozen=True)
class TripLight:
    """The light of a trip: hides across, sessions down."""

    hides: tuple[Hide, ...]
    lines: tuple[SessionLights, ...]
    settings: LightSettings


def light_of_trip(trip: Trip, wish: str) -> TripLight:
    """The light of every hide in every session of a trip, with heat where there is a forecast."""
    values = trip_values(trip)
    lights = trip_light(values.hides, values.sessions, wish, values.rules.light)
    lines = tuple(_line(values, number, wish, lights) for number in range(len(values.sessions)))
    return TripLight(values.hide_rows, lines, values.rules.light)


def _line(values: TripValues, number: int, wish: str, lights: dict[tuple[str, str], SessionLight]) -> SessionLights:
    row, session = values.session_rows[number], values.sessions[number]
    cells = []
    for place, (hide_row, hide) in enumerate(zip(values.hide_rows, values.hides, strict=True)):
        if hide_row.site_id != row.site_id or not hide.views:
            cells.append(HideLight(hide_row, None))
            continue
        own = own_session(values, number, place)
        light = lights[hide.key, session.key] if own is session else session_light(hide, own, wish, values.rules.light)
        heat = session_heat(hide, own, values.rules.heat_limit_c) if session.forecast else None
        cells.append(HideLight(hide_row, light, own is not session, heat, values.rules.light.good_minutes))
    heats = [cell.heat for cell in cells if cell.heat]
    told = tuple(
        (cell.hide.name, heat_words(cell.heat, values.trip.units))
        for cell in cells
        if cell.heat and cell.heat.above_limit
    )
    hottest = max(heats, key=lambda heat: heat.worst_hide_c or -99.0, default=None)
    return SessionLights(row, session, tuple(cells), told, hottest)


def next_day(day: date, by: int) -> date:
    """The day before or after, for the page's links."""
    return day + timedelta(days=by)
