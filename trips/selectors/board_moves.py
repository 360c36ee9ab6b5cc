"""Where somebody can go while a session runs: ready hides with a free seat, by what the person would still get."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from trips.assemble.points import points_table
from trips.assemble.rota import RotaInputs, plan_of, rota_inputs
from trips.assemble.trip import TripValues, trip_values
from trips.assemble.why_cannot_sit import trip_names
from trips.core.day import SessionNow
from trips.core.rota.check.checker import check
from trips.core.rota.edit.hand_edits import move_person, new_faults
from trips.core.rota.problem.points import TurnFactors
from trips.core.rota.problem.values import NO_SEAT, Plan, Turn
from trips.documents.wording.rota_faults import fault_sentence
from trips.models import Hide, HideState, Seat, Session, Trip
from trips.selectors.day import rota_in_force
from trips.selectors.day_state import DayPerson, TripDay, session_day


@dataclass(frozen=True)
class MoveChoice:
    """A free seat. `in_place_at`: by drive from the lodge and walk; `left_min`: of the session from then.

    `points`: of what is left of the session there, 0-100 of a whole one; `broken`: rules that stand against it.
    """

    hide: Hide
    seat: Seat
    in_place_at: datetime
    left_min: int
    points: float
    factors: TurnFactors
    broken: tuple[str, ...] = ()


@dataclass(frozen=True)
class PersonMoves:
    """Somebody with the seats they can move to, the best first, and those that a rule forbids."""

    who: DayPerson
    where: str
    choices: tuple[MoveChoice, ...]
    forbidden: tuple[MoveChoice, ...]


def moves_for(trip: Trip, session: Session, *, key: str, now: datetime) -> tuple[PersonMoves, ...]:
    """The moves of one person (`key`), or of everybody in a hide (`key`: its uuid); leaders need no rules."""
    day = session_day(session, now=now)
    state = day.state.sessions[0]
    found = [
        one for one in state.people if key in (one.person, one.hide) and one.standing not in ("back", "not_coming")
    ]
    rota = rota_in_force(trip)
    if rota is None or not found:
        return ()
    values = trip_values(trip)
    inputs = rota_inputs(values)
    moves = _Moves(inputs, values, day, _as_it_stands(plan_of(rota, values), inputs, state, session), session, now)
    people = sorted((day.people[one.person] for one in found), key=lambda one: one.name)
    return tuple(moves.of(who) for who in people if who.place is not None)


def _as_it_stands(plan: Plan, inputs: RotaInputs, state: SessionNow, session: Session) -> Plan:
    """The plan with the session's turns as its people sit now."""
    values = inputs.values
    number = [row.pk for row in values.session_rows].index(session.pk)
    people = {f"place-{row.uuid}": index for index, row in enumerate(values.place_rows)}
    hides = {hide.key: index for index, hide in enumerate(values.hides)}
    turns = [turn for turn in plan.turns if turn.session != number]
    for hide, index in hides.items():
        seats = [seat.key for seat in values.hides[index].seats]
        turns += [
            Turn(people[one.person], number, index, seats.index(one.seat) if one.seat in seats else NO_SEAT)
            for one in state.seated(hide)
            if one.person in people
        ]
    return Plan(tuple(turns), tuple(rest for rest in plan.rests if rest[1] != number))


@dataclass(frozen=True)
class _Moves:
    inputs: RotaInputs
    values: TripValues
    day: TripDay
    plan: Plan
    session: Session
    now: datetime

    def of(self, who: DayPerson) -> PersonMoves:
        """The person's moves."""
        state = self.day.state.sessions[0].person(who.key)
        where = self.day.hides[state.hide].name if state and state.hide in self.day.hides else ""
        found = sorted(self._choices(who), key=lambda one: (-one.points, one.hide.walk_m or 0, one.hide.name))
        allowed = tuple(one for one in found if not one.broken)
        return PersonMoves(who, where, allowed, tuple(one for one in found if one.broken))

    def _choices(self, who: DayPerson) -> Iterator[MoveChoice]:
        assert who.place is not None
        state = self.day.state.sessions[0]
        says = {say.hide_id: say.state for say in self._row.session_hides.all()}
        own = state.person(who.key)
        for index, hide in enumerate(self.values.hide_rows):
            key = str(hide.uuid)
            is_ready = says.get(hide.pk, HideState.READY) == HideState.READY and key not in state.closed
            if not is_ready or hide.site_id != self.session.site_id or (own is not None and own.hide == key):
                continue
            taken = {one.seat for one in state.seated(key)}
            seat = next((seat for seat in hide.seats.all() if str(seat.uuid) not in taken and self._in_use(seat)), None)
            at = max(self.now + timedelta(minutes=hide.drive_min + hide.walk_min), self.session.starts_at)
            if seat is not None and at < self.session.ends_at:
                yield self._choice(who, (index, hide), seat, at)

    def _choice(self, who: DayPerson, there: tuple[int, Hide], seat: Seat, at: datetime) -> MoveChoice:
        index, hide = there
        left = self.session.ends_at - at
        factors = self._factors(who, index, at)
        return MoveChoice(
            hide,
            seat,
            at.astimezone(ZoneInfo(self.session.site.time_zone)),
            round(left / timedelta(minutes=1)),
            round(factors.points * (left / (self.session.ends_at - self.session.starts_at)), 1),
            factors,
            self._broken(who, index),
        )

    def _factors(self, who: DayPerson, hide: int, at: datetime) -> TurnFactors:
        """What a turn from that moment to the session's end is worth, by light, reach and votes."""
        assert who.place is not None
        place = self.values.place_row(str(who.place.uuid))
        value = self.values.session(str(self.session.uuid))
        cut = replace(value, starts_at=max(at.astimezone(value.starts_at.tzinfo), value.starts_at))
        one = replace(self.values, place_rows=(place,), session_rows=(self._row,), sessions=(cut,))
        return points_table(one).factors[0, 0, hide]

    def _broken(self, who: DayPerson, hide: int) -> tuple[str, ...]:
        """The hard rules that only this move would break."""
        assert who.place is not None
        problem = self.inputs.problem
        person = [row.pk for row in self.values.place_rows].index(who.place.pk)
        number = [row.pk for row in self.values.session_rows].index(self.session.pk)
        after = move_person(problem, self.plan, Turn(person, number, hide))
        faults = new_faults(check(problem, self.plan).faults, check(problem, after).faults)
        names = trip_names(self.inputs) if faults else None
        return tuple(fault_sentence(fault, names) for fault in faults) if names else ()

    def _in_use(self, seat: Seat) -> bool:
        return seat.out_of_use_from is None or seat.out_of_use_from >= self.session.ends_at

    @property
    def _row(self) -> Session:
        return next(row for row in self.values.session_rows if row.pk == self.session.pk)
