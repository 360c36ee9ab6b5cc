"""A plan into the rows of a rota."""

from collections.abc import Iterable
from typing import Any

from participants.core.errors import CoreError
from participants.core.isolation import isolated
from trips.assemble.rota import RotaInputs
from trips.core.rota.edit.repair_moves import RepairMove, repair_moves
from trips.core.rota.problem.shares import turn_points
from trips.core.rota.problem.values import LEADER, Plan, Turn
from trips.documents.wording.rota import move_reason
from trips.documents.wording.rota_names import names_of
from trips.documents.wording.sessions import session_hours
from trips.models import Rest as RestRow
from trips.models import Rota, Seat
from trips.models import Turn as TurnRow
from trips.selectors.session import local_hours

PINNED = "pinned by the leader"


class InputsGone(CoreError):
    """What a plan was made from was taken out meanwhile: `gone`, each as in "hide Alder"."""


def rows_hold(*, inputs: RotaInputs, plan: Plan) -> None:
    """Lock the rows that a plan points to, so that none goes before the transaction ends. Raises InputsGone.

    The trip's own row is locked after them: what takes a row out notes it on the trip afterwards.
    """
    values, turns = inputs.values, plan.turns
    hides = {turn.hide: values.hide_rows[turn.hide] for turn in turns}
    seats = [_seat(inputs, turn) for turn in turns]
    sessions = {turn.session for turn in turns} | {session for _, session in plan.rests}
    people = {turn.person for turn in turns if turn.person != LEADER} | {person for person, _ in plan.rests}
    gone_seats = _gone(seats)
    gone_hides = _gone(hides.values())
    gone_sessions = _gone(values.session_rows[session] for session in sessions)
    gone_people = _gone(inputs.people[person] for person in people)
    gone = [f"person {isolated(row.participant.name)}" for row in gone_people]
    gone += [f"session {session_hours(*local_hours(row))}" for row in gone_sessions]
    gone += [f"hide {isolated(row.name)}" for row in gone_hides]
    names = {row.pk: row.name for row in hides.values() if row not in gone_hides}
    gone += [
        f"seat {isolated(row.name)} of {isolated(names[row.hide_id])}" for row in gone_seats if row.hide_id in names
    ]
    if gone:
        raise InputsGone(gone=tuple(gone))


def _gone(rows: Iterable[Any]) -> list[Any]:
    """Those of the rows that are no longer there; the others are locked."""
    known = {row.pk: row for row in rows}
    if not known:
        return []
    model = type(next(iter(known.values())))
    there = set(model.objects.select_for_update().filter(pk__in=known).order_by("pk").values_list("pk", flat=True))
    return [row for key, row in sorted(known.items()) if key not in there]


def _seat(inputs: RotaInputs, turn: Turn) -> Seat:
    seat: Seat = list(inputs.values.hide_rows[turn.hide].seats.all())[turn.seat]
    return seat


def rota_rows_write(*, rota: Rota, inputs: RotaInputs, plan: Plan) -> None:
    """Write the turns and rests of a plan in place of whatever the draft had; what is past stays as it was issued."""
    rota.turns.all().delete()
    rota.rests.all().delete()
    reasons, plan = _Reasons(inputs, plan), inputs.as_issued(plan)
    TurnRow.objects.bulk_create([_turn_row(rota, inputs, turn, reasons) for turn in plan.turns])
    values = inputs.values
    RestRow.objects.bulk_create(
        RestRow(
            rota=rota,
            session=values.session_rows[session],
            place=inputs.people[person],
            reason="; ".join(reasons.public(person, session))[:300],
        )
        for person, session in plan.rests
    )


class _Reasons:
    """Why people sit where they do: who moved in a repair and which rule forces it; who is pinned."""

    def __init__(self, inputs: RotaInputs, plan: Plan) -> None:
        self.names = names_of(inputs.problem)
        self.moves: dict[tuple[int, int], RepairMove] = {
            (move.person, move.session): move for move in repair_moves(inputs.problem, plan)
        }
        self.pins = {(pin.person, pin.session, pin.hide) for pin in inputs.problem.pins}

    def public(self, person: int, session: int) -> list[str]:
        """What everybody may read."""
        move = self.moves.get((person, session))
        return [] if move is None else [move_reason(move, self.names, for_leader=False)]

    def for_leader(self, person: int, session: int) -> list[str]:
        """What only leaders may read, where it says more."""
        move = self.moves.get((person, session))
        return [move_reason(move, self.names)] if move is not None and move.rests_on_apart else []


def _turn_row(rota: Rota, inputs: RotaInputs, turn: Turn, reasons: _Reasons) -> TurnRow:
    values, pinned = inputs.values, (turn.person, turn.session, turn.hide) in reasons.pins
    who: dict[str, Any] = (
        {"leader_id": rota.trip.leader_id} if turn.person == LEADER else {"place": inputs.people[turn.person]}
    )
    return TurnRow(
        rota=rota,
        session=values.session_rows[turn.session],
        hide=values.hide_rows[turn.hide],
        seat=_seat(inputs, turn),
        pinned=pinned,
        stays=turn.stays,
        part=turn.part,
        points=0.0 if turn.person == LEADER else turn_points(inputs.problem, turn),
        reasons=([PINNED] if pinned else []) + reasons.public(turn.person, turn.session),
        leader_reasons=reasons.for_leader(turn.person, turn.session),
        **who,
    )
