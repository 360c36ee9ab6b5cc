"""Who is out in the hides, who is back, and who is overdue."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from trips.assemble import point_value, trip_values
from trips.assemble.drive_rows import person_key, person_name, rows_of
from trips.assemble.drives import TripDrives
from trips.documents.overdue import RescueFacts, escalation
from trips.models import Hide, OutBack, Place, Rota, Session, Site, Trip, Turn
from trips.selectors.day import rota_in_force


@dataclass(frozen=True)
class Outing:
    """One person of a session. `key` names them in forms; moments as the site's clocks show them."""

    key: str
    name: str
    phone: str
    seat: str
    out_at: datetime | None
    back_at: datetime | None
    due_at: datetime | None
    is_overdue: bool
    place: Place | None
    leader: Any

    @property
    def state(self) -> str:
        """not_out, out, back or overdue."""
        if self.is_overdue:
            return "overdue"
        if self.back_at:
            return "back"
        return "out" if self.out_at else "not_out"


@dataclass(frozen=True)
class HideOutings:
    """The people of one hide, when they are fetched, and what to do when they are not back."""

    hide: Hide
    people: tuple[Outing, ...]
    due_at: datetime | None
    steps: tuple[str, ...]

    @property
    def not_out(self) -> str:
        """The keys of those who have not been ticked out or back yet."""
        return " ".join(person.key for person in self.people if not person.out_at and not person.back_at)

    @property
    def still_out(self) -> str:
        """The keys of those who are still out."""
        return " ".join(person.key for person in self.people if person.out_at and not person.back_at)

    @property
    def overdue(self) -> int:
        """How many people of the hide are overdue."""
        return sum(person.is_overdue for person in self.people)


def outings(trip: Trip, session: Session, *, now: datetime) -> tuple[HideOutings, ...]:
    """Everybody who is to sit somewhere in the session, or was ticked out, by hide.

    Overdue: the pick-up window is over and the person is not back, though they or anybody else were ticked.
    """
    rota = rota_in_force(trip)
    turns = _turns(rota, session)
    ticks = {person_key(row): row for row in session.outs.select_related("place__participant", "leader", "hide__site")}
    when = now, bool(ticks)
    due = _due(trip, rota, session)
    by_hide: dict[Hide, list[Outing]] = {}
    for turn in turns:
        tick = ticks.pop(person_key(turn), None)
        hide = tick.hide if tick else turn.hide
        by_hide.setdefault(hide, []).append(_outing(turn, tick, due.get(hide.pk), when))
    for tick in ticks.values():
        by_hide.setdefault(tick.hide, []).append(_outing(tick, tick, due.get(tick.hide_id), when))
    return tuple(
        _hide(hide, people, due.get(hide.pk)) for hide, people in sorted(by_hide.items(), key=lambda one: one[0].name)
    )


@dataclass(frozen=True)
class Ticked:
    """Who is ticked in which hide: a place, or (place None) a leader."""

    hide: Hide
    place: Place | None
    leader: Any
    name: str


def ticked_people(hides: Iterable[HideOutings], who: Iterable[str]) -> list[Ticked]:
    """The people whom a form names by their keys."""
    keys = set(who)
    return [
        Ticked(one.hide, person.place, person.leader, person.name)
        for one in hides
        for person in one.people
        if person.key in keys
    ]


def _turns(rota: Rota | None, session: Session) -> list[Turn]:
    if rota is None:
        return []
    rows = rota.turns.filter(session=session).select_related("place__participant", "leader", "hide__site", "seat")
    return list(rows.order_by("hide__name", "seat__name", "part"))


def _due(trip: Trip, rota: Rota | None, session: Session) -> dict[int, datetime]:
    """When each hide's pick-up window closes, by hide row id, whoever sits there; in the site's zone."""
    values = trip_values(trip)
    drives = TripDrives(rows_of(trip, values.session_rows, values.hide_rows), rota)
    row = next(one for one in values.session_rows if one.pk == session.pk)
    found = {}
    for hide in (hide for hide in values.hide_rows if hide.site_id == session.site_id):
        ride = drives.rides.get((row.pk, str(hide.uuid)))
        window = (ride and ride.pick_up) or drives.window(row, hide)
        found[hide.pk] = window.closes_at
    return found


def _outing(turn: Turn | OutBack, tick: OutBack | None, due_at: datetime | None, when: tuple[datetime, bool]) -> Outing:
    now, anybody_ticked = when
    person = turn.place.participant if turn.place else None
    zone = ZoneInfo(turn.hide.site.time_zone)
    out_at, back_at = (tick.out_at, tick.back_at) if tick else (None, None)
    late = due_at is not None and now > due_at
    return Outing(
        key=person_key(turn),
        name=person.name if person else _leader_name(turn),
        phone=person.phone if person else "",
        seat=turn.seat.name if isinstance(turn, Turn) else "",
        out_at=out_at and out_at.astimezone(zone),
        back_at=back_at and back_at.astimezone(zone),
        due_at=due_at,
        is_overdue=late and back_at is None and (out_at is not None or anybody_ticked),
        place=turn.place,
        leader=None if turn.place else turn.leader,
    )


def _leader_name(turn: Turn | OutBack) -> str:
    if isinstance(turn, Turn):
        return person_name(turn)
    return turn.leader.get_full_name() or turn.leader.get_username() if turn.leader else ""


def _hide(hide: Hide, people: list[Outing], due_at: datetime | None) -> HideOutings:
    site: Site = hide.site
    point = point_value(site, hide)
    facts = RescueFacts(
        hide=hide.name,
        drive_min=hide.drive_min,
        phones=tuple((person.name, person.phone) for person in people),
        radio=site.radio,
        owner=site.owner,
        owner_contact=site.owner_contact,
        emergency_number=site.emergency_number,
        rescue_point=hide.rescue_point or site.rescue_point,
        nearest_road=hide.nearest_road,
        position=f"{point.latitude_deg:.5f}, {point.longitude_deg:.5f}",
    )
    return HideOutings(hide, tuple(people), due_at, escalation(facts))
