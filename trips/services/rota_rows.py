"""A plan into the rows of a rota."""

from typing import Any

from trips.assemble.rota import RotaInputs
from trips.core.rota.edit.repair_moves import RepairMove, repair_moves
from trips.core.rota.problem.shares import turn_points
from trips.core.rota.problem.values import LEADER, Plan, Turn
from trips.documents.wording.rota import move_reason
from trips.documents.wording.rota_names import names_of
from trips.models import Rest as RestRow
from trips.models import Rota
from trips.models import Turn as TurnRow

PINNED = "pinned by the leader"


def rota_rows_write(*, rota: Rota, inputs: RotaInputs, plan: Plan) -> None:
    """Write the turns and rests of a plan in place of whatever the draft had."""
    rota.turns.all().delete()
    rota.rests.all().delete()
    reasons = _Reasons(inputs, plan)
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
    hide = values.hide_rows[turn.hide]
    who: dict[str, Any] = (
        {"leader": values.trip.leader} if turn.person == LEADER else {"place": inputs.people[turn.person]}
    )
    return TurnRow(
        rota=rota,
        session=values.session_rows[turn.session],
        hide=hide,
        seat=list(hide.seats.all())[turn.seat],
        pinned=pinned,
        stays=turn.stays,
        part=turn.part,
        points=0.0 if turn.person == LEADER else turn_points(inputs.problem, turn),
        reasons=([PINNED] if pinned else []) + reasons.public(turn.person, turn.session),
        leader_reasons=reasons.for_leader(turn.person, turn.session),
        **who,
    )
