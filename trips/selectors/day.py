"""One day of a trip as its leaders run it: the availability, cars and when they leave, who sits where."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from trips.assemble import TripValues, trip_values
from trips.assemble.calls import HideCall, TripCars, session_calls, trip_cars
from trips.core.light import SessionLight, session_light
from trips.models import Hide, HideState, Rota, RotaState, Session, SessionHide, Trip, Turn


@dataclass(frozen=True)
class DayHide:
    """A hide in a session: its availability, who sits there, when the car leaves (None: nobody sits there)."""

    hide: Hide
    say: SessionHide | None
    people: tuple[str, ...]
    call: HideCall | None

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
    """A session of the day with its hides; its times as the site's clocks show them."""

    session: Session
    starts_at: datetime
    ends_at: datetime
    lines: tuple[DayHide, ...]
    free_seats: int

    @property
    def missing_seats(self) -> int:
        """How many seats the ready hides lack for the people of the rota."""
        return max(0, -self.free_seats)

    @property
    def too_many(self) -> int:
        """How many people the cars cannot take."""
        rounds = {(line.call.car, line.call.leaves_at): line.call.too_many for line in self.lines if line.call}
        return sum(rounds.values())


@dataclass(frozen=True)
class RunDay:
    """A day with its sessions; `rota` is the issued one, else the latest draft, else None."""

    days: tuple[date, ...]
    day: date | None
    rota: Rota | None
    sessions: tuple[SessionLines, ...]


def rota_in_force(trip: Trip) -> Rota | None:
    """The issued rota, else the latest draft."""
    rotas = trip.rotas.order_by("-number")
    return rotas.filter(state=RotaState.ISSUED).first() or rotas.filter(state=RotaState.DRAFT).first()


def local_day(session: Session) -> date:
    """The day on which a session starts, at its site."""
    return session.starts_at.astimezone(ZoneInfo(session.site.time_zone)).date()


def hides_of(session: Session) -> list[Hide]:
    """The hides that a session may use, by name."""
    return list(session.site.hides.order_by("name", "uuid"))


def sessions_after(session: Session) -> list[Session]:
    """The later sessions of the trip at the same site."""
    later = Session.objects.filter(trip_id=session.trip_id, site_id=session.site_id, starts_at__gt=session.starts_at)
    return list(later.order_by("starts_at"))


def run_day(trip: Trip, *, wanted: date | None, now: datetime) -> RunDay:
    """The day asked for; without one today, or the next day that has sessions, or the last."""
    values = trip_values(trip)
    days = tuple(sorted({local_day(row) for row in values.session_rows}))
    day = wanted if wanted in days else _day_nearest(days, values, now)
    rota = rota_in_force(trip)
    rows = [row for row in values.session_rows if local_day(row) == day]
    return RunDay(days, day, rota, tuple(session_lines(values, rota, rows)))


def session_lines(values: TripValues, rota: Rota | None, rows: Iterable[Session]) -> list[SessionLines]:
    """Sessions with their hides, in two queries beyond the trip's own."""
    rows = list(rows)
    seated = _seated(rota, rows)
    cars = trip_cars(values)
    return [_session(values, cars, row, seated[row.pk]) for row in rows]


def _day_nearest(days: tuple[date, ...], values: TripValues, now: datetime) -> date | None:
    if not days:
        return None
    today = now.astimezone(ZoneInfo(values.session_rows[0].site.time_zone)).date()
    return next((day for day in days if day >= today), days[-1])


def _seated(rota: Rota | None, rows: list[Session]) -> dict[int, dict[int, list[Turn]]]:
    """Turns by session row id and hide row id."""
    found: dict[int, dict[int, list[Turn]]] = defaultdict(lambda: defaultdict(list))
    if rota is not None:
        turns = rota.turns.filter(session__in=rows).select_related("place__participant", "leader", "seat")
        for turn in turns.order_by("seat__name", "part"):
            found[turn.session_id][turn.hide_id].append(turn)
    return found


def _session(values: TripValues, cars: TripCars, row: Session, seated: dict[int, list[Turn]]) -> SessionLines:
    hides = [hide for hide in values.hide_rows if hide.site_id == row.site_id]
    says = {say.hide_id: say for say in row.session_hides.all()}
    occupied = Counter({str(hide.uuid): len(seated[hide.pk]) for hide in hides if seated.get(hide.pk)})
    key = str(row.uuid)
    calls = session_calls(values, cars, key, occupied, _lights(values, key, occupied)) if occupied else {}
    zone = ZoneInfo(row.site.time_zone)
    lines = tuple(
        DayHide(
            hide,
            says.get(hide.pk),
            tuple(f"{person_name(turn)} ({turn.seat.name})" for turn in seated.get(hide.pk, [])),
            calls.get(str(hide.uuid)),
        )
        for hide in hides
    )
    taken = sum(occupied.values())
    seats = sum(len(line.hide.seats.all()) for line in lines if line.state == HideState.READY)
    return SessionLines(row, row.starts_at.astimezone(zone), row.ends_at.astimezone(zone), lines, seats - taken)


def _lights(values: TripValues, session_key: str, occupied: Iterable[str]) -> dict[tuple[str, str], SessionLight]:
    """The light of the hides in use: whether the leader is asked before people are fetched."""
    session = values.session(session_key)
    return {
        (key, session_key): session_light(values.hide(key), session, "front", values.rules.light) for key in occupied
    }


def person_name(turn: Turn) -> str:
    """Who sits there."""
    if turn.place is not None:
        return turn.place.participant.name
    return turn.leader.get_full_name() or turn.leader.get_username() if turn.leader else ""
