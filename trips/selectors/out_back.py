"""Who is out in the hides, who is back, and who is overdue, as the leaders' page shows it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from trips.assemble import point_value
from trips.core.day import Contradiction, PersonNow, SessionNow
from trips.documents.overdue import AlarmStep, RescueFacts, timed_steps
from trips.documents.wording.happenings import contradiction_sentence
from trips.models import Hide, Session, Site, Trip
from trips.selectors.day_state import DayPerson, TripDay, trip_day


@dataclass(frozen=True)
class Outing:
    """One person of a session; moments as the site's clocks show them.

    `standing`: overdue, out, back, not_coming, late or not_out.
    """

    who: DayPerson
    seat: str
    standing: str
    out_at: datetime | None
    back_at: datetime | None
    late_until: datetime | None
    left_at: datetime | None
    can_undo: bool

    @property
    def is_overdue(self) -> bool:
        """Whether they should be back."""
        return self.standing == "overdue"

    @property
    def is_open(self) -> bool:
        """Whether they may still be ticked out, noted as late or not coming."""
        return self.standing in ("not_out", "late") or (self.is_overdue and not self.out_at)


@dataclass(frozen=True)
class HideOutings:
    """The people of one hide, when they are fetched, and what to do when they are not back."""

    hide: Hide
    people: tuple[Outing, ...]
    due_at: datetime | None
    closed_at: datetime | None
    steps: tuple[AlarmStep, ...]

    @property
    def key(self) -> str:
        """What forms name the hide by, after "hide-"."""
        return str(self.hide.uuid)

    @property
    def not_out(self) -> str:
        """The keys of those who have not been ticked out or back yet."""
        return " ".join(person.who.key for person in self.people if person.is_open)

    @property
    def still_out(self) -> str:
        """The keys of those who are still out."""
        return " ".join(
            person.who.key for person in self.people if person.out_at and person.standing in ("out", "overdue")
        )

    @property
    def overdue(self) -> int:
        """How many people of the hide are overdue."""
        return sum(person.is_overdue for person in self.people)


@dataclass(frozen=True)
class SessionOutings:
    """A session of the page: its hides, and what was said that does not agree, in sentences.

    `others`: every hide of the site, to move somebody to.
    """

    hides: tuple[HideOutings, ...]
    contradictions: tuple[str, ...]
    others: tuple[Hide, ...] = ()


def outings(trip: Trip, session: Session, *, now: datetime) -> SessionOutings:
    """Everybody who is to sit somewhere in the session, or was noted there, by hide."""
    page = outings_of(trip_day(trip, now=now, session=session), session)
    return replace(page, others=tuple(session.site.hides.order_by("name", "uuid")))


def outings_of(day: TripDay, session: Session) -> SessionOutings:
    """The same of a day that is folded already."""
    zone = ZoneInfo(session.site.time_zone)
    state = day.state.session(str(session.uuid))
    by_hide: dict[Hide, list[PersonNow]] = {}
    for person in state.people:
        if person.hide in day.hides:
            by_hide.setdefault(day.hides[person.hide], []).append(person)
    hides = tuple(
        _hide(day, state, hide, people) for hide, people in sorted(by_hide.items(), key=lambda one: one[0].name)
    )
    return SessionOutings(hides, tuple(told(day, one, zone) for one in state.contradictions))


def told(day: TripDay, found: Contradiction, zone: ZoneInfo) -> str:
    """What does not agree, in a sentence."""
    people = [day.people[key].name for key in found.people]
    hides = {key: hide.name for key, hide in day.hides.items()}
    return contradiction_sentence(found, people, hides, zone)


def noted_about(hides: Iterable[HideOutings], who: Iterable[str]) -> tuple[list[DayPerson], Hide | None]:
    """The people, or the hide, whom a form names by their keys."""
    keys, hides = set(who), tuple(hides)
    people = [person.who for one in hides for person in one.people if person.who.key in keys]
    return people, next((one.hide for one in hides if f"hide-{one.hide.uuid}" in keys), None)


def _hide(day: TripDay, state: SessionNow, hide: Hide, people: list[PersonNow]) -> HideOutings:
    zone, closed = ZoneInfo(hide.site.time_zone), state.closed.get(str(hide.uuid))
    outings = sorted((_outing(day, one, zone) for one in people), key=lambda one: (one.seat, one.who.name))
    due_at = state.session.due.get(str(hide.uuid))
    waited = [one.due_at.astimezone(zone) for one in people if one.due_at and one.standing in ("out", "overdue")]
    steps = timed_steps(_rescue(hide, outings), min(waited, default=due_at), **day.alarm_min)
    return HideOutings(hide, tuple(outings), due_at, closed.at.astimezone(zone) if closed else None, steps)


def _outing(day: TripDay, one: PersonNow, zone: ZoneInfo) -> Outing:
    return Outing(
        who=day.people[one.person],
        seat=day.seat_names.get(one.seat, ""),
        standing=one.standing,
        out_at=one.out_at and one.out_at.astimezone(zone),
        back_at=one.back_at and one.back_at.astimezone(zone),
        late_until=one.late.until_at.astimezone(zone) if one.late and one.late.until_at else None,
        left_at=one.left_at and one.left_at.astimezone(zone),
        can_undo=bool(one.last),
    )


def _rescue(hide: Hide, people: list[Outing]) -> RescueFacts:
    site: Site = hide.site
    point = point_value(site, hide)
    return RescueFacts(
        hide=hide.name,
        drive_min=hide.drive_min,
        phones=tuple((person.who.name, person.who.phone) for person in people),
        radio=site.radio,
        owner=site.owner,
        owner_contact=site.owner_contact,
        emergency_number=site.emergency_number,
        rescue_point=hide.rescue_point or site.rescue_point,
        nearest_road=hide.nearest_road,
        walk_min=hide.walk_min,
        position=f"{point.latitude_deg:.5f}, {point.longitude_deg:.5f}",
    )
