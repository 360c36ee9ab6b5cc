"""The six sheets of the day board: what each offers to choose from at a moment."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from participants.core.isolation import isolated
from trips.assemble.day import happening_rows, happening_values
from trips.assemble.rota import plan_of, rota_inputs
from trips.assemble.sessions import session_label
from trips.assemble.trip import trip_values
from trips.core.day import PersonNow, in_force
from trips.core.rota.problem.values import LEADER
from trips.models import Car, GearAway, Hide, Issue, RotaState, Seat, Session, Trip
from trips.models.gear_away import OWNED_PIECES
from trips.selectors.day import local_day, rota_in_force
from trips.selectors.day_state import DayPerson, TripDay, people_of, session_day
from trips.selectors.gear import pieces_on_trip

KINDS = ("person", "hide", "car", "light", "gear", "undo")
NOTES_OF = timedelta(hours=24)  # older notes are taken back by `day_change`


@dataclass(frozen=True)
class SheetPerson:
    """Somebody of the trip; `where`: their seat now, empty without one."""

    who: DayPerson
    where: str
    standing: str


@dataclass(frozen=True)
class SheetSeat:
    """A seat: who has it now (empty: free), whether it is out of use, and who would gain by it, the most first."""

    seat: Seat
    holder: str
    is_broken: bool
    offers: tuple[tuple[DayPerson, str], ...] = ()


@dataclass(frozen=True)
class SheetHide:
    """A hide in the session."""

    hide: Hide
    is_closed: bool
    seats: tuple[SheetSeat, ...]


@dataclass(frozen=True)
class SheetNote:
    """Something that was noted and holds, in words; `uuid` names it."""

    uuid: str
    text: str


@dataclass(frozen=True)
class Sheet:
    """What a sheet shows. `session`: the one that goes on or comes next, None when all are over.

    `one`: whom or what was chosen already, by its key; `pieces`: (kind:uuid, whose and which), bodies and lenses.
    """

    kind: str
    session: Session | None
    label: str = ""
    is_going_on: bool = False
    sessions: tuple[tuple[str, str], ...] = ()
    one: str = ""
    people: tuple[SheetPerson, ...] = ()
    hides: tuple[SheetHide, ...] = ()
    cars: tuple[Car, ...] = ()
    pieces: tuple[tuple[str, str], ...] = ()
    away: tuple[GearAway, ...] = ()
    notes: tuple[SheetNote, ...] = ()
    broken: tuple[Seat, ...] = ()
    former: Issue | None = None
    issued: Issue | None = None

    @property
    def chosen(self) -> SheetPerson | None:
        """The person the sheet is about."""
        return next((person for person in self.people if person.who.key == self.one), None)

    @property
    def others(self) -> tuple[SheetPerson, ...]:
        """Everybody else who has a seat and a place on the trip."""
        return tuple(one for one in self.people if one.who.key != self.one and one.where and one.who.place)


def sessions_ahead(trip: Trip, now: datetime) -> list[Session]:
    """The sessions that are not over, the one that goes on or comes next first."""
    return list(trip.sessions.select_related("site", "trip").filter(ends_at__gt=now))


def sessions_meant(ahead: list[Session], span: str) -> tuple[Session, ...]:
    """What `this`, `day` and `trip` stand for: of the sessions ahead the first, those of its day, or all."""
    if span == "trip":
        return tuple(ahead)
    if span == "day":
        return tuple(row for row in ahead if local_day(row) == local_day(ahead[0]))
    return tuple(ahead[:1])


def sheet(trip: Trip, kind: str, *, one: str, now: datetime) -> Sheet:
    """One of the KINDS; `one`: the key of a person, or the uuid of a hide, that was chosen on the board."""
    ahead = sessions_ahead(trip, now)
    if not ahead:
        return replace(_undo(Sheet(kind, None), trip, now), one=one) if kind == "undo" else Sheet(kind, None)
    session = ahead[0]
    names = tuple((str(row.uuid), session_label(row)) for row in ahead)
    plain = Sheet(kind, session, session_label(session), session.starts_at <= now, names, one)
    return FILLED[kind](plain, trip, now)


def _person(plain: Sheet, trip: Trip, now: datetime) -> Sheet:
    return replace(plain, people=_people(plain, trip, now))


def _people(plain: Sheet, trip: Trip, now: datetime) -> tuple[SheetPerson, ...]:
    assert plain.session is not None
    day = session_day(plain.session, now=now)
    state = day.state.sessions[0]
    return tuple(_sheet_person(day, who, state.person(who.key)) for who in people_of(trip))


def _sheet_person(day: TripDay, who: DayPerson, now: PersonNow | None) -> SheetPerson:
    if now is None or now.hide not in day.hides:
        return SheetPerson(who, "", now.standing if now else "not_out")
    seat = day.seat_names.get(now.seat, "")
    return SheetPerson(who, ", ".join(filter(None, (day.hides[now.hide].name, seat))), now.standing)


def _hide(plain: Sheet, trip: Trip, now: datetime) -> Sheet:
    session = plain.session
    assert session is not None
    day = session_day(session, now=now)
    state = day.state.sessions[0]
    rows = session.site.hides.prefetch_related("seats").order_by("name", "uuid")
    hides = []
    for hide in rows:
        if plain.one and str(hide.uuid) != plain.one:
            continue
        holders = {one.seat: day.people[one.person].name for one in state.seated(str(hide.uuid))}
        offers = _offers(trip, session, hide) if plain.one else ()
        seats = []
        for seat in hide.seats.all():
            is_broken = seat.out_of_use_from is not None and seat.out_of_use_from < session.ends_at
            holder = holders.get(str(seat.uuid), "")
            seats.append(SheetSeat(seat, holder, is_broken, () if holder or is_broken else offers))
        hides.append(SheetHide(hide, str(hide.uuid) in state.closed, tuple(seats)))
    return replace(plain, hides=tuple(hides))


def _offers(trip: Trip, session: Session, hide: Hide) -> tuple[tuple[DayPerson, str], ...]:
    """Who may sit in a hide and how many points they would gain there, the most first."""
    rota = rota_in_force(trip)
    if rota is None:
        return ()
    values = trip_values(trip)
    problem, plan = rota_inputs(values).problem, plan_of(rota, values)
    number = [row.pk for row in values.session_rows].index(session.pk)
    there = [row.pk for row in values.hide_rows].index(hide.pk)
    now_in = {turn.person: turn.hide for turn in plan.turns if turn.session == number and turn.person != LEADER}
    people = {one.place.pk: one for one in people_of(trip) if one.place}
    gains = []
    for person, row in enumerate(values.place_rows):
        if now_in.get(person) == there or not problem.may_sit(person, number, there):
            continue
        points = problem.points[person][number]
        gain = round(points[there] - (points[now_in[person]] if person in now_in else 0.0))
        gains.append((-gain, people[row.pk], f"{'+' if gain >= 0 else '−'}{abs(gain)}"))
    return tuple((who, told) for _, who, told in sorted(gains, key=lambda one: (one[0], one[1].name)))


def _car(plain: Sheet, trip: Trip, now: datetime) -> Sheet:
    return replace(plain, cars=tuple(trip.cars.all()))


def _light(plain: Sheet, trip: Trip, now: datetime) -> Sheet:
    return plain


def _gear(plain: Sheet, trip: Trip, now: datetime) -> Sheet:
    pieces = [
        (f"{kind}:{piece.uuid}", f"{isolated(piece.participant.name)}: {piece.name}")
        for kind, piece in pieces_on_trip(trip)
        if kind in ("lens", "body")
    ]
    away = tuple(trip.gear_away.select_related("borrower__participant", *OWNED_PIECES))
    ordered = sorted(pieces, key=lambda one: (one[0].startswith("body"), one[1]))
    return replace(plain, pieces=tuple(ordered), away=away, people=_people(plain, trip, now))


def last_issues(trip: Trip) -> tuple[Issue | None, Issue | None]:
    """The issue in force and the one before it."""
    issues = Issue.objects.filter(rota__trip=trip).select_related("rota").defer("pages", "papers", "events")
    last = list(issues.order_by("-issued_at", "-pk")[:2])
    if not last or last[0].rota.state != RotaState.ISSUED:
        return None, None
    return last[0], last[1] if len(last) > 1 else None


def _undo(plain: Sheet, trip: Trip, now: datetime) -> Sheet:
    """The issue before the one in force, and what was noted in the last day."""
    issued, former = last_issues(trip)
    return replace(
        plain,
        notes=_notes(trip, now),
        issued=issued,
        former=former,
        away=tuple(trip.gear_away.filter(changed_at__gt=now - NOTES_OF).select_related(*OWNED_PIECES)),
        broken=tuple(
            Seat.objects.filter(hide__site__trips=trip, out_of_use_from__lte=now)
            .filter(out_of_use_from__gt=now - NOTES_OF)
            .select_related("hide")
        ),
    )


def _notes(trip: Trip, now: datetime) -> tuple[SheetNote, ...]:
    """What was noted lately and holds, the latest first."""
    rows = {str(row.uuid): row for row in happening_rows(trip) if row.at > now - NOTES_OF}
    held = in_force(happening_values(rows.values()), now)
    sessions = {row.pk: row for row in trip.sessions.select_related("site")}
    zone = ZoneInfo(next((row.site.time_zone for row in sessions.values()), "UTC"))
    labels = {pk: session_label(row) for pk, row in sessions.items()}
    return tuple(SheetNote(one.key, _note_words(rows[one.key], labels, zone)) for one in reversed(held))


def _note_words(row: Any, labels: Mapping[int, str], zone: ZoneInfo) -> str:
    """What somebody noted: "06:10 Ana: not coming (Sat 8 May, early)"."""
    leader = row.leader
    who = row.place.participant.name if row.place else leader and (leader.get_full_name() or leader.get_username())
    about = [isolated(str(name)) for name in (who, row.hide and row.hide.name, row.car) if name]
    session = f" ({labels[row.session_id]})" if row.session_id in labels else ""
    return f"{row.at.astimezone(zone):%H:%M} {', '.join(about)}: {row.get_kind_display()}{session}"


FILLED = {"person": _person, "hide": _hide, "car": _car, "light": _light, "gear": _gear, "undo": _undo}
