"""One day of a trip as its leaders run it: availability, when which car leaves, who sits where."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from trips.assemble import TripValues, trip_values
from trips.assemble.drive_rows import rows_of, seated_name
from trips.assemble.drives import HideRide, TripDrives, ask_first
from trips.assemble.drives_told import DriveTold, drives_told
from trips.core.light import session_light
from trips.documents.meals import missed_meals
from trips.models import ON_TRIP, Hide, HideState, Rota, RotaState, Session, SessionHide, Trip, Turn
from trips.selectors.meal import meals_by_day
from trips.selectors.rota import changed_since_issue


@dataclass(frozen=True)
class DayHide:
    """A hide in a session: its availability, who sits there, when they ride (None: nobody sits there)."""

    hide: Hide
    say: SessionHide | None
    people: tuple[str, ...]
    ride: HideRide | None

    @property
    def state(self) -> str:
        """ready, notice or unavailable; without a word of the owner's a hide is ready."""
        return self.say.state if self.say else HideState.READY

    @property
    def closed_on_people(self) -> bool:
        """Whether somebody sits in a hide that is not available."""
        return bool(self.people) and self.state == HideState.UNAVAILABLE


@dataclass(frozen=True)
class SessionLines:
    """A session of the day with its hides; its times as the site's clocks show them.

    `faults`: what cannot be driven, with what would help.
    """

    session: Session
    starts_at: datetime
    ends_at: datetime
    lines: tuple[DayHide, ...]
    free_seats: int
    faults: tuple[DriveTold, ...] = ()

    @property
    def missing_seats(self) -> int:
        """How many seats the ready hides lack for the people of the rota."""
        return max(0, -self.free_seats)


@dataclass(frozen=True)
class RunDay:
    """A day with its sessions; `rota` is the issued one, else the latest draft, else None.

    `changed`: when cars or drops changed after the issue, `rests_changed`: when anything did. `missed`: meals that
    people are not back for or must leave.
    """

    days: tuple[date, ...]
    day: date | None
    rota: Rota | None
    sessions: tuple[SessionLines, ...]
    changed: datetime | None = None
    missed: tuple[str, ...] = ()
    rests_changed: datetime | None = None

    @property
    def zone(self) -> str:
        """Whose clock the page shows."""
        return next((one.session.site.time_zone for one in self.sessions), "UTC")


def rota_in_force(trip: Trip) -> Rota | None:
    """The issued rota, else the latest draft."""
    rotas = trip.rotas.order_by("-number")
    return rotas.filter(state=RotaState.ISSUED).first() or rotas.filter(state=RotaState.DRAFT).first()


def local_day(session: Session) -> date:
    """The day on which a session starts, at its site."""
    return session.starts_at.astimezone(ZoneInfo(session.site.time_zone)).date()


@dataclass(frozen=True)
class Driver:
    """Somebody of the trip who may drive: a place's or a leader's row id."""

    name: str
    place: int | None = None
    leader: int | None = None


def drivers_of(trip: Trip) -> dict[str, Driver]:
    """Who of the trip may drive, leaders first, by the key that rows give a driver; two queries."""
    users = [trip.leader, *trip.co_leaders.order_by("username")]
    found = {f"leader-{user.pk}": Driver(user.get_full_name() or user.get_username(), leader=user.pk) for user in users}
    places = trip.places.select_related("participant").order_by("participant__name", "pk")
    for place in places:
        gone = "" if place.state in ON_TRIP else f" ({place.get_state_display()})"
        found[f"place-{place.uuid}"] = Driver(f"{place.participant.name}{gone}", place=place.pk)
    return found


def hides_of(session: Session) -> list[Hide]:
    """The hides that a session may use, by name."""
    return list(session.site.hides.order_by("name", "uuid"))


def sessions_after(session: Session) -> list[Session]:
    """The later sessions of the trip at the same site."""
    later = Session.objects.filter(trip_id=session.trip_id, site_id=session.site_id, starts_at__gt=session.starts_at)
    return list(later.order_by("starts_at"))


def run_day(trip: Trip, *, wanted: date | None, now: datetime) -> RunDay:
    """The day asked for; without one that of the first session that is not over, or the last."""
    values = trip_values(trip)
    days = tuple(sorted({local_day(row) for row in values.session_rows}))
    day = wanted if wanted in days else _day_nearest(days, values, now)
    rota = rota_in_force(trip)
    rows = [row for row in values.session_rows if local_day(row) == day]
    drives = TripDrives(rows_of(values.trip, values.session_rows, values.hide_rows), rota)
    sessions = tuple(_session_lines(values, drives, rota, rows))
    meals = next((own.meals for own in meals_by_day(trip) if own.day == day), ())
    missed = missed_meals(day, meals, drives.away) if day else ()
    changed, rests = changed_since_issue(rota) if rota else (None, None)
    return RunDay(days, day, rota, sessions, changed, missed, rests)


def _session_lines(
    values: TripValues, drives: TripDrives, rota: Rota | None, rows: list[Session]
) -> Iterator[SessionLines]:
    """Sessions with their hides."""
    seated = _seated(rota, rows)
    for row in rows:
        yield replace(_session(values, drives, row, seated[row.pk]), faults=tuple(drives_told(drives, row.pk)))


def _day_nearest(days: tuple[date, ...], values: TripValues, now: datetime) -> date | None:
    ahead = (local_day(row) for row in values.session_rows if row.ends_at > now)
    return next(ahead, days[-1] if days else None)


def _seated(rota: Rota | None, rows: list[Session]) -> dict[int, dict[int, list[Turn]]]:
    """Turns by session row id and hide row id."""
    found: dict[int, dict[int, list[Turn]]] = defaultdict(lambda: defaultdict(list))
    if rota is not None:
        turns = rota.turns.filter(session__in=rows).select_related("place__participant", "leader", "seat")
        for turn in turns.order_by("seat__name", "part"):
            found[turn.session_id][turn.hide_id].append(turn)
    return found


def _session(values: TripValues, drives: TripDrives, row: Session, seated: dict[int, list[Turn]]) -> SessionLines:
    hides = [hide for hide in values.hide_rows if hide.site_id == row.site_id]
    says = {say.hide_id: say for say in row.session_hides.all()}
    occupied = Counter({str(hide.uuid): len(seated[hide.pk]) for hide in hides if seated.get(hide.pk)})
    zone = ZoneInfo(row.site.time_zone)
    lines = tuple(
        DayHide(
            hide,
            says.get(hide.pk),
            tuple(f"{seated_name(turn)} ({turn.seat.name})" for turn in seated.get(hide.pk, [])),
            _ride(values, drives, row, str(hide.uuid)),
        )
        for hide in hides
    )
    taken = sum(occupied.values())
    seats = sum(len(line.hide.seats.all()) for line in lines if line.state == HideState.READY)
    return SessionLines(row, row.starts_at.astimezone(zone), row.ends_at.astimezone(zone), lines, seats - taken)


def _ride(values: TripValues, drives: TripDrives, row: Session, hide: str) -> HideRide | None:
    """The rides of a hide in use, with whether its people are asked before they are fetched."""
    ride = drives.rides.get((row.pk, hide))
    if ride is None or ride.pick_up is None:
        return ride
    light = session_light(values.hide(hide), values.session(str(row.uuid)), "front", values.rules.light)
    return replace(ride, pick_up=replace(ride.pick_up, ask=ask_first(light, ride.pick_up)))
