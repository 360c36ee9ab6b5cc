"""How the day of a trip stands at a moment, and who is overdue on any trip of a leader."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.shortcuts import get_object_or_404

from trips.assemble import trip_values
from trips.assemble.day import happening_rows, happening_values, planned_seats
from trips.assemble.drive_rows import person_key, rows_of, seated_name
from trips.assemble.drives import TripDrives
from trips.core.day import DaySession, DayState, Sat, fold_day, sat_in
from trips.models import ON_TRIP, Happening, Hide, Place, RotaState, Session, Trip, TripRules, Turn
from trips.selectors.day import rota_in_force

# A tick that nobody made for so long was forgotten; a search is over by then.
ALARM_DAYS = 2


@dataclass(frozen=True)
class DayPerson:
    """Who stands for a person's key: a place, or (place None) a leader."""

    key: str
    name: str
    phone: str
    place: Place | None
    leader: Any


@dataclass(frozen=True)
class TripDay:
    """The folded day of a trip with the rows that its keys stand for; `sat`: by session, of those that are over.

    `drives`: None where nobody asked when people are due.
    """

    trip: Trip
    state: DayState
    sessions: dict[str, Session]
    people: dict[str, DayPerson]
    hides: dict[str, Hide]
    seat_names: dict[str, str]
    sat: dict[str, tuple[Sat, ...]]
    drives: TripDrives | None = None

    @property
    def alarm_min(self) -> dict[str, float]:
        """The trip's minutes after which somebody is overdue, and after which the co-leaders get a mail."""
        rules = rules_of(self.trip)
        return {"overdue_min": rules.overdue_min, "mail_min": rules.overdue_mail_min}


@dataclass(frozen=True)
class OverdueLine:
    """People of one hide who are overdue now, and where to read what to do."""

    trip: Trip
    session: Session
    hide: Hide | None
    names: tuple[str, ...]


def trip_day(trip: Trip, *, now: datetime, session: Session | None = None) -> TripDay:
    """How all sessions of a trip, or one of them, stand at a moment: each hide's people are due by their drives."""
    rota, values = rota_in_force(trip), trip_values(trip)
    drives = TripDrives(rows_of(trip, values.session_rows, values.hide_rows), rota)
    rows = [row for row in values.session_rows if session is None or row.pk == session.pk]
    turns = _turns(Q(rota=rota, session__in=rows)) if rota is not None else []
    noted = happening_rows(trip, session)
    return _folded(trip, (turns, noted), [_due(drives, row, values.hide_rows) for row in rows], (now, rows, drives))


def session_day(session: Session, *, now: datetime) -> TripDay:
    """How one session stands by what was noted alone: nobody is due. Three queries."""
    rota = rota_in_force(session.trip)
    turns = _turns(Q(rota=rota, session=session)) if rota is not None else []
    value = DaySession(str(session.uuid), session.starts_at, session.ends_at)
    return _folded(session.trip, (turns, happening_rows(session.trip, session)), [value], (now, [session], None))


def overdue_lines(asker: Any, *, now: datetime) -> tuple[OverdueLine, ...]:
    """Who is overdue on the trips that this leader leads: one query while nobody was ticked in a session just over."""
    if asker is None or not asker.is_authenticated:
        return ()
    own = Q(session__trip__leader=asker) | Q(session__trip__in=asker.co_led_trips.values("pk"))
    return _overdue(own, now)


def overdue_everywhere(*, now: datetime) -> tuple[OverdueLine, ...]:
    """Who is overdue on any trip."""
    return _overdue(Q(), now)


def _overdue(own: Q, now: datetime) -> tuple[OverdueLine, ...]:
    over = own & Q(session__ends_at__lt=now, session__ends_at__gt=now - timedelta(days=ALARM_DAYS))
    if not Happening.objects.filter(over).exists():  # on nearly every page: the whole rows take far longer to ask for
        return ()
    of_session = ("session__trip__rules", "session__site")
    related = (*of_session, "place__participant", "leader", "hide", "seat", "car", "by", "undoes")
    noted = list(Happening.objects.filter(over).select_related(*related))
    sessions = {row.session.pk: row.session for row in noted if row.session}
    turns = _turns(Q(session__in=sessions) & (Q(rota__state=RotaState.ISSUED)))
    seats, log = planned_seats(turns), happening_values(noted)
    hides = {seat.hide for seat in seats} | {one.hide for one in log}
    values = [
        DaySession(str(row.uuid), row.starts_at, row.ends_at, dict.fromkeys(hides, row.ends_at))
        for row in sessions.values()
    ]
    early = fold_day(values, seats, log, now=now, overdue_min=0)
    suspects = {one.session.key for one, _ in early.overdue}
    lines: list[OverdueLine] = []
    for session in sorted(sessions.values(), key=lambda row: (row.starts_at, row.pk)):
        if str(session.uuid) in suspects:
            lines += _lines(trip_day(session.trip, now=now, session=session), session)
    return tuple(lines)


def _lines(day: TripDay, session: Session) -> list[OverdueLine]:
    by_hide: dict[str, list[str]] = defaultdict(list)
    for _, person in day.state.overdue:
        by_hide[person.hide].append(day.people[person.person].name)
    return [OverdueLine(day.trip, session, day.hides.get(hide), tuple(names)) for hide, names in by_hide.items()]


def _turns(which: Q) -> list[Turn]:
    rows = Turn.objects.filter(which).select_related("session", "place__participant", "leader", "hide__site", "seat")
    return list(rows.order_by("session", "hide__name", "seat__name", "part"))


def _due(drives: TripDrives, row: Session, hides: Iterable[Hide]) -> DaySession:
    """A session with when each hide's pick-up window closes, whoever sits there."""
    due = {}
    for hide in (hide for hide in hides if hide.site_id == row.site_id):
        ride = drives.rides.get((row.pk, str(hide.uuid)))
        due[str(hide.uuid)] = ((ride and ride.pick_up) or drives.window(row, hide)).closes_at
    return DaySession(str(row.uuid), row.starts_at, row.ends_at, due)


def _folded(
    trip: Trip,
    rows: tuple[list[Turn], list[Happening]],
    values: list[DaySession],
    when: tuple[datetime, list[Session], TripDrives | None],
) -> TripDay:
    (turns, noted), (now, sessions, drives) = rows, when
    stay = [turn.pk for turn in turns if drives is not None and not drives.rides_home(turn)]
    seats, log = planned_seats(turns, stay), [one for one in happening_values(noted) if one.at <= now]
    state = fold_day(values, seats, log, now=now, overdue_min=rules_of(trip).overdue_min)
    everything: list[Turn | Happening] = [*turns, *noted]
    about = [row for row in everything if row.place_id or row.leader_id]
    return TripDay(
        trip,
        state,
        {str(row.uuid): row for row in sessions},
        {person_key(row): _person(row) for row in about},
        {str(row.hide.uuid): row.hide for row in everything if row.hide},
        {str(row.seat.uuid): row.seat.name for row in everything if row.seat},
        {one.key: sat_in(one, seats, log) if one.ends_at <= now else () for one in values},
        drives,
    )


def people_of(trip: Trip) -> list[DayPerson]:
    """Everybody on a trip whom a happening can be about, its leaders last."""
    places = trip.places.filter(state__in=ON_TRIP).select_related("participant")
    people = [
        DayPerson(f"place-{place.uuid}", place.participant.name, place.participant.phone, place, None)
        for place in places.order_by("participant__name", "uuid")
    ]
    return people + [
        DayPerson(f"leader-{user.pk}", user.get_full_name() or user.get_username(), "", None, user)
        for user in leaders_of_trip(trip)
    ]


def rules_of(trip: Trip) -> TripRules:
    """The trip's rules; the defaults where it has none."""
    return getattr(trip, "rules", None) or TripRules()


def happening_for(trip: Trip, uuid: UUID) -> Happening:
    """What was noted of that uuid on this trip; 404 otherwise."""
    return get_object_or_404(trip.happenings.select_related("session__site"), uuid=uuid)


def leaders_of_trip(trip: Trip) -> list[Any]:
    """The leader of a trip, then its co-leaders by name."""
    return [trip.leader, *trip.co_leaders.order_by("username")]


def _person(row: Turn | Happening) -> DayPerson:
    phone = row.place.participant.phone if row.place else ""
    return DayPerson(person_key(row), seated_name(row), phone, row.place, None if row.place else row.leader)
