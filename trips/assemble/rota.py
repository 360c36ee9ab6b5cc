"""A trip's rows into the rota's problem, and a plan back into rows' keys."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from trips.assemble.day import DayFacts, happening_rows, happening_values, past_exchanged
from trips.assemble.driver_seats import driver_seats
from trips.assemble.points import PointsTable, points_table
from trips.assemble.presence_and_states import (
    absent,
    access_limits,
    closed,
    hardships,
    joined,
    openable,
    people_facts,
    pins,
    shared,
)
from trips.assemble.trip import TripValues
from trips.core.rota.problem.shares import best_alone
from trips.core.rota.problem.values import (
    LEADER,
    LIMITS,
    Plan,
    Problem,
    ProblemHide,
    ProblemSeat,
    Triple,
    Turn,
)
from trips.core.values import Hide, Session
from trips.models import Issue, RotaState, SessionLog
from trips.models import Place as PlaceRow
from trips.models import Rota as RotaRow

OTHER_HIDES_SEAT = 10_000  # stands for a seat that is not in the turn's hide, so that the checker sees it


@dataclass(frozen=True)
class RotaInputs:
    """A problem with the values its indices stand for; people, sessions and hides are in the problem's order.

    `driven`: the car that keeps a driver out of a hide, by (person, session, hide). `issued`: in a repair, the issued
    rota as its rows have it; the problem has its past as it was sat.
    """

    problem: Problem
    values: TripValues
    table: PointsTable
    driven: Mapping[Triple, str] = field(default_factory=dict)
    issued: Plan | None = None

    def as_sat(self, rows: Plan) -> Plan:
        """A plan as its rows have it, with the past as it was sat wherever the rows keep to the issued rota."""
        problem = self.problem
        if self.issued is None or problem.issued is None:
            return rows
        return past_exchanged(rows, problem.past, self.issued, problem.issued)

    def as_issued(self, plan: Plan) -> Plan:
        """The reverse: a plan of this problem as its rows are written. What was told of the past is never altered."""
        problem = self.problem
        if self.issued is None or problem.issued is None:
            return plan
        return past_exchanged(plan, problem.past, problem.issued, self.issued)

    @property
    def people(self) -> tuple[PlaceRow, ...]:
        """Places by person index."""
        return self.values.place_rows

    def seat_key(self, hide: int, seat: int) -> str:
        """The uuid of a seat by its hide's and its own index."""
        return self.values.hides[hide].seats[seat].key


@dataclass(frozen=True, slots=True)
class RepairFrom:
    """What a repair starts from: the issued rota, from which session on, the moment it is asked, and how free.

    `known_at`: who does not come and which hides are closed counts as noted until then; None: not at all.
    `aim`: a former rota whose turns are wanted back where nothing has left yet; None: those of the issued one.
    """

    rota: RotaRow
    kind: str = "fewest"
    from_session: int = 0
    departed: frozenset[tuple[int, int]] = frozenset()
    known_at: datetime | None = None
    aim: RotaRow | None = None


def rota_inputs(
    values: TripValues,
    *,
    repair: RepairFrom | None = None,
    now: datetime | None = None,
    stored: RotaRow | None = None,
) -> RotaInputs:
    """The problem of a whole trip, or of its rest when `repair` is given.

    `now`: hides that can still be made ready from then on are named as possible; they stay closed. `stored`: the rota
    whose problem it is; once it was issued, only earlier issues say who is owed a turn.
    """
    table, day = points_table(values), DayFacts(values, happening_values(happening_rows(values.trip)))
    cannot_then, cannot = access_limits(values)
    every = range(len(values.sessions))
    never = {(p, h) for p, _, h in table.faults if all((p, s, h) in table.faults for s in every)}
    problem = Problem(
        name=values.trip.name,
        people=tuple(row.participant.name for row in values.place_rows),
        sessions=tuple(session.name for session in values.sessions),
        hides=tuple(_hide(hide, values.sessions) for hide in values.hides),
        points=table.points,
        closed=closed(values),
        absent=absent(values),
        cannot=frozenset(cannot | never),
        cannot_then=frozenset(cannot_then | {cell for cell in table.faults if (cell[0], cell[2]) not in never}),
        in_demand=tuple(index for index, hide in enumerate(values.hides) if hide.sought_after),
        joined=joined(values),
        rests_allowed=tuple(row.rests_allowed for row in values.session_rows),
        shared=shared(values),
        burdens=hardships(values),
        good=table.good,
        kinds=tuple(session.kind for session in values.sessions),
        possible=openable(values, now) if now is not None else frozenset(),
        **_rules(values),
    )
    problem = replace(problem, **people_facts(values), pins=pins(values))
    driven = driver_seats(values, problem)
    problem = replace(problem, cannot_then=problem.cannot_then.union(driven))
    problem = replace(problem, owed=_owed(day, problem, stored), no_loss=_no_loss(day, problem))
    issued = plan_of(repair.rota, values) if repair else None
    return RotaInputs(_repaired(problem, day, repair) if repair else problem, values, table, driven, issued)


def plan_of(rota: RotaRow, values: TripValues) -> Plan:
    """A stored rota as a plan of the values' indices. Rows that are gone (a person who cancelled) are left out."""
    people = {row.pk: index for index, row in enumerate(values.place_rows)}
    sessions = {row.pk: index for index, row in enumerate(values.session_rows)}
    hides = {row.pk: index for index, row in enumerate(values.hide_rows)}
    seats = {(row.pk, seat.pk): index for row in values.hide_rows for index, seat in enumerate(row.seats.all())}
    turns = []
    for turn in rota.turns.all():
        person = LEADER if turn.place_id is None else people.get(turn.place_id)
        if person is None or turn.session_id not in sessions or turn.hide_id not in hides:
            continue
        turns.append(
            Turn(
                person,
                sessions[turn.session_id],
                hides[turn.hide_id],
                seats.get((turn.hide_id, turn.seat_id), OTHER_HIDES_SEAT),
                turn.stays,
                turn.part,
            )
        )
    rests = [
        (people[rest.place_id], sessions[rest.session_id])
        for rest in rota.rests.all()
        if rest.place_id in people and rest.session_id in sessions
    ]
    order = sorted(turns, key=lambda turn: (turn.session, turn.hide, turn.seat, turn.part, turn.person))
    return Plan(tuple(order), tuple(sorted(rests)))


def _hide(hide: Hide, sessions: tuple[Session, ...]) -> ProblemHide:
    def out_from(moment: datetime | None) -> int | None:
        if moment is None:
            return None
        later = [index for index, session in enumerate(sessions) if session.ends_at > moment]
        return later[0] if later else None

    seats = tuple(ProblemSeat(seat.name, seat.quality, out_from(seat.out_of_use_from)) for seat in hide.seats)
    return ProblemHide(hide.name, seats, hide.minimum_people)


def _rules(values: TripValues) -> dict[str, Any]:
    rules = values.rules
    return {
        **{name: getattr(rules, name) for name in LIMITS},
        "never_twice_running": rules.never_twice_running,
        "leader": rules.leader_policy,
        "tolerance": rules.tolerance,
        "want_mixing": rules.want_mixing,
        "visit_loss": rules.visit_loss,
    }


def _no_loss(day: DayFacts, problem: Problem) -> frozenset[tuple[int, int]]:
    """Where a further visit costs nothing: marked "again", or the earlier visit was logged empty."""
    values = day.values
    hides = {hide.key: index for index, hide in enumerate(values.hides)}
    found = {
        (p, hides[key])
        for p, place in enumerate(values.place_rows)
        for key in values.wishes[str(place.uuid)].again
        if key in hides
    }
    issued = values.trip.rotas.filter(state=RotaState.ISSUED).first()
    empty = set(SessionLog.objects.filter(session__trip=values.trip, empty=True).values_list("session_id", "hide_id"))
    if issued is not None and empty:
        _, plan = day.as_sat(problem, plan_of(issued, values), len(values.sessions))
        for turn in plan.turns:
            key = (values.session_rows[turn.session].pk, values.hide_rows[turn.hide].pk)
            if turn.person != LEADER and key in empty:
                found.add((turn.person, turn.hide))
    return frozenset(found)


def _owed(day: DayFacts, problem: Problem, stored: RotaRow | None) -> frozenset[tuple[int, int]]:
    """(person, hide in demand) of people who had no turn there in the trip's last issued rota, as far as it was sat."""
    values = day.values
    told = values.trip.rotas.filter(state__in=[RotaState.ISSUED, RotaState.RETIRED], issue__isnull=False)
    if stored is not None and stored.state != RotaState.DRAFT:
        told = told.filter(issue__issued_at__lt=Issue.objects.filter(rota=stored).values("issued_at"))
    last = told.order_by("-issue__issued_at", "-number").first()
    if last is None:
        return frozenset()
    _, plan = day.as_sat(problem, plan_of(last, values), len(values.sessions))
    had = {(turn.person, turn.hide) for turn in plan.turns}
    return frozenset((p, h) for h in problem.in_demand for p in range(len(problem.people)) if (p, h) not in had)


def _repaired(problem: Problem, day: DayFacts, repair: RepairFrom) -> Problem:
    values, rows = day.values, plan_of(repair.rota, day.values)
    if repair.aim is not None:
        rows = _aimed(rows, plan_of(repair.aim, values), repair)
    alone, own = repair.rota.result.get("best_alone") or None, _best_from(problem, repair.from_session)
    if repair.known_at is not None:
        problem = day.ahead(problem, rows, repair.from_session, repair.known_at)
    problem, issued = day.as_sat(problem, rows, repair.from_session)
    return replace(
        problem,
        issued=issued,
        stays=_stays(problem, issued, repair.from_session),
        past=repair.from_session,
        frozen=repair.departed,
        repair=repair.kind,
        best_alone=alone and tuple(alone.get(str(row.uuid), own[p]) for p, row in enumerate(values.place_rows)),
    )


def _aimed(issued: Plan, former: Plan, repair: RepairFrom) -> Plan:
    """The former plan, but for what has begun or left: that is as issued."""
    past, departed = repair.from_session, repair.departed
    fixed = [turn for turn in issued.turns if turn.session < past or (turn.session, turn.hide) in departed]
    settled = {(turn.person, turn.session) for turn in fixed}
    free = [
        turn
        for turn in former.turns
        if turn.session >= past
        and (turn.session, turn.hide) not in departed
        and (turn.person, turn.session) not in settled
    ]
    rests = {rest for rest in issued.rests if rest[1] < past}
    rests |= {rest for rest in former.rests if rest[1] >= past and rest not in settled}
    order = sorted([*fixed, *free], key=lambda turn: (turn.session, turn.hide, turn.seat, turn.part, turn.person))
    return Plan(tuple(order), tuple(sorted(rests)))


def _best_from(problem: Problem, first: int) -> tuple[float, ...]:
    """The best that each could get alone from that session on: what counts for whoever joined after the issue."""
    over = {(person, session) for person in range(len(problem.people)) for session in range(first)}
    return best_alone(replace(problem, absent=problem.absent | over))


def _stays(problem: Problem, issued: Plan, past: int) -> frozenset[tuple[int, int, int]]:
    """Stays through a break that were issued and can still be kept: the person may sit there before and after."""
    return frozenset(
        (turn.person, turn.session, turn.hide)
        for turn in issued.turns
        if turn.stays
        and turn.person != LEADER
        and turn.session >= past
        and turn.session + 1 < len(problem.sessions)
        and all(_seat_fits(problem, turn, when) for when in (turn.session, turn.session + 1))
    )


def _seat_fits(problem: Problem, turn: Turn, session: int) -> bool:
    seats = problem.hides[turn.hide].seats
    if not 0 <= turn.seat < len(seats) or not problem.may_sit(turn.person, session, turn.hide):
        return False
    out_from = seats[turn.seat].out_from
    return out_from is None or session < out_from
