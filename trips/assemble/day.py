"""What was noted on the day as values of the core, and what it means for a repair: who sat, who is away."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from trips.assemble.drive_rows import person_key
from trips.assemble.people import place_key
from trips.assemble.trip import TripValues
from trips.core.day import DaySession, Happening, PlannedSeat, Sat, fold_day, in_force, sat_in
from trips.core.rota.problem.values import LEADER, NO_SEAT, Plan, Problem, Turn
from trips.models import Happening as HappeningRow
from trips.models import Session as SessionRow
from trips.models import Trip
from trips.models import Turn as TurnRow

Past = tuple[tuple[Turn, ...], tuple[tuple[int, int], ...]]  # turns and rests of one session


def happening_values(rows: Iterable[HappeningRow]) -> tuple[Happening, ...]:
    """Rows as values; read them with `happening_rows`."""
    return tuple(
        Happening(
            key=str(row.uuid),
            kind=row.kind,
            at=row.at,
            session=str(row.session.uuid) if row.session else "",
            person=person_key(row) if row.place_id or row.leader_id else "",
            hide=str(row.hide.uuid) if row.hide else "",
            seat=str(row.seat.uuid) if row.seat else "",
            car=str(row.car.uuid) if row.car else "",
            until_at=row.until_at,
            by=(row.by.get_full_name() or row.by.get_username()) if row.by else "",
            note=row.note,
            undoes=str(row.undoes.uuid) if row.undoes else "",
        )
        for row in rows
    )


def happening_rows(trip: Trip, session: SessionRow | None = None) -> list[HappeningRow]:
    """What was noted on a trip, or in one session of it; one query."""
    rows = HappeningRow.objects.filter(trip=trip) if session is None else HappeningRow.objects.filter(session=session)
    related = ("session", "place__participant", "leader", "hide__site", "seat", "car", "by", "undoes")
    return list(rows.select_related(*related))


def planned_seats(turns: Iterable[TurnRow], stay: Iterable[int] = ()) -> tuple[PlannedSeat, ...]:
    """Turns of the issued rota read with session, place, hide and seat. `stay`: turns that nobody is fetched after."""
    stay = set(stay)
    return tuple(
        PlannedSeat(
            str(turn.session.uuid),
            person_key(turn),
            str(turn.hide.uuid),
            str(turn.seat.uuid),
            turn.part,
            turn.pk in stay,
        )
        for turn in turns
    )


@dataclass(frozen=True)
class DayFacts:
    """What was noted on the day, in the indices of a trip's values."""

    values: TripValues
    log: tuple[Happening, ...]

    @property
    def sessions(self) -> tuple[DaySession, ...]:
        """The trip's sessions in their order."""
        return tuple(DaySession(one.key, one.starts_at, one.ends_at) for one in self.values.sessions)

    def as_sat(self, problem: Problem, plan: Plan, past: int) -> tuple[Problem, Plan]:
        """A plan whose first `past` sessions are as they were sat, and the problem with the points of that.

        A person has one turn a session, where they sat longest; its points are those of all that they sat there and
        elsewhere, each by the part of the session that it lasted. Turns of leaders stay as issued.
        """
        noted = {one.session for one in in_force(self.log)}
        points = [list(map(list, person)) for person in problem.points] if noted else []
        turns, rests = list(plan.turns), list(plan.rests)
        for number, session in enumerate(self.sessions[:past]):
            if session.key not in noted:
                continue
            own = [turn for turn in turns if turn.session == number and turn.person != LEADER]
            sat = sat_in(session, self._seats(own), self.log)
            if {(one.person, one.hide, one.seat, one.part, 1.0) for one in self._seats(own)} == {
                (one.person, one.hide, one.seat, one.part, one.share * (2 if one.part else 1)) for one in sat
            }:
                continue
            found = self._turns(number, sat, own)
            turns = [turn for turn in turns if turn not in own] + list(found)
            rests = [rest for rest in rests if rest[1] != number or rest[0] not in {turn.person for turn in found}]
            for turn, worth in found.items():
                points[turn.person][number][turn.hide] = round(
                    sum(share * problem.points[turn.person][number][hide] for hide, share in worth), 2
                )
        if turns == list(plan.turns):
            return problem, plan
        ordered = sorted(turns, key=lambda turn: (turn.session, turn.hide, turn.seat, turn.part, turn.person))
        frozen = tuple(tuple(map(tuple, person)) for person in points)
        return replace(problem, points=frozen), Plan(tuple(ordered), tuple(sorted(rests)))

    def ahead(self, problem: Problem, plan: Plan, past: int, known_at: datetime) -> Problem:
        """The problem with who is noted as not coming, and which hides as closed, in the sessions that are left."""
        hides = {hide.key: number for number, hide in enumerate(self.values.hides)}
        seats = self._seats([turn for turn in plan.turns if turn.person != LEADER])
        absent, closed = set(problem.absent), set(problem.closed)
        state = fold_day(self.sessions[past:], seats, self.log, now=known_at)
        for number, session in enumerate(state.sessions, start=past):
            absent |= {
                (self._people[one.person], number)
                for one in session.people
                if one.standing == "not_coming" and one.person in self._people
            }
            closed |= {(number, hides[hide]) for hide in session.closed if hide in hides}
        return replace(problem, absent=frozenset(absent), closed=frozenset(closed))

    @property
    def _people(self) -> dict[str, int]:
        return {f"place-{place_key(row)}": number for number, row in enumerate(self.values.place_rows)}

    def _seats(self, turns: Iterable[Turn]) -> tuple[PlannedSeat, ...]:
        keys, hides = list(self._people), self.values.hides
        return tuple(
            PlannedSeat(
                self.values.sessions[turn.session].key,
                keys[turn.person],
                hides[turn.hide].key,
                hides[turn.hide].seats[turn.seat].key if 0 <= turn.seat < len(hides[turn.hide].seats) else "",
                turn.part,
            )
            for turn in turns
        )

    def _turns(self, number: int, sat: Iterable[Sat], own: list[Turn]) -> dict[Turn, list[tuple[int, float]]]:
        """The turn of each person who sat, with (hide, share of the session) of all that they sat."""
        hides = {hide.key: index for index, hide in enumerate(self.values.hides)}
        by_person: dict[int, list[Sat]] = {}
        for one in sat:
            if one.person in self._people and one.hide in hides:
                by_person.setdefault(self._people[one.person], []).append(one)
        issued = {(turn.person, turn.hide): turn for turn in own}
        found = {}
        for person, theirs in by_person.items():
            longest = max(theirs, key=lambda one: one.minutes)
            hide = hides[longest.hide]
            seats = [seat.key for seat in self.values.hides[hide].seats]
            seat = seats.index(longest.seat) if longest.seat in seats else NO_SEAT
            stays = (person, hide) in issued and issued[person, hide].stays
            # The points of a part are half of what stands in the table: so its minutes count twice there.
            whole = 2.0 if longest.part else 1.0
            turn = Turn(person, number, hide, seat, stays, longest.part)
            found[turn] = [(hides[one.hide], one.share * whole) for one in theirs]
        return found


def past_exchanged(plan: Plan, past: int, these: Plan, those: Plan) -> Plan:
    """The plan with a session of `those` wherever, among the first `past`, it has the very session of `these`."""
    turns = [turn for turn in plan.turns if turn.session >= past]
    rests = [rest for rest in plan.rests if rest[1] >= past]
    for session in range(past):
        own = _past(plan, session)
        found = _past(those, session) if own == _past(these, session) else own
        turns += found[0]
        rests += found[1]
    order = sorted(turns, key=lambda turn: (turn.session, turn.hide, turn.seat, turn.part, turn.person))
    return Plan(tuple(order), tuple(sorted(rests)))


def _past(plan: Plan, session: int) -> Past:
    turns = (turn for turn in plan.turns if turn.session == session)
    order = sorted(turns, key=lambda turn: (turn.hide, turn.seat, turn.part, turn.person))
    return tuple(order), tuple(sorted(rest for rest in plan.rests if rest[1] == session))
