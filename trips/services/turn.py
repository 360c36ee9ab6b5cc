"""Changes of a draft by hand, each with its effect shown before, who, when and why kept, and undone in one step."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.assemble.cell_light import light_of_cells
from trips.assemble.rota import RotaInputs, plan_of
from trips.assemble.rota_result import Made, digests, stored_rota
from trips.core.rota.check.checker import check
from trips.core.rota.edit import hand_edits as edits
from trips.core.rota.edit.hand_edits import Effect
from trips.core.rota.problem.values import LEADER, NO_SEAT, Plan, Turn
from trips.models import Change, Hide, Place, Rota, RotaState, Seat, Session
from trips.services.rota import BY_HAND, RotaNotDraft, hand_result, rejected
from trips.services.rota_rows import rota_rows_write, rows_hold


class ChangeOverwritten(CoreError):
    """A change cannot be undone: the rota was changed again since. `change`."""


@dataclass(frozen=True)
class Edit:
    """One change of a draft: `kind` move, swap, rest or stay. `place` None: the leader.

    move: to `hide` and `seat` (None: the best free one); swap: with `other`; stay: `stays` through the break.
    """

    kind: str
    session: Session
    place: Place | None = None
    hide: Hide | None = None
    seat: Seat | None = None
    other: Place | None = None
    stays: bool = True


@dataclass(frozen=True)
class Preview:
    """What an edit would do, with the inputs whose indices it speaks of."""

    effect: Effect
    inputs: RotaInputs
    before: Plan


def edit_preview(*, rota: Rota, edit: Edit) -> Preview:
    """The effect of an edit; nothing is written. Raises NothingToChange."""
    stored = stored_rota(rota)
    before = edits.sort_plan(stored.plan)
    effect = edits.judge_edit(stored.inputs.problem, before, _after(stored.inputs, before, edit))
    return Preview(effect, stored.inputs, before)


@transaction.atomic
def edit_save(
    *, rota: Rota, edit: Edit, by: Any, now: datetime, why: str = "", seen_version: int | None = None
) -> Change:
    """Change a draft. Raises RotaNotDraft, RotaRejected (nothing is written), NothingToChange, Stale."""
    rota = _locked_draft(rota)
    preview = edit_preview(rota=rota, edit=edit)
    if not preview.effect.is_sound:
        raise rejected(preview.inputs, preview.effect.faults)
    return _write(rota, preview.inputs, preview.effect.plan, _Note(by, now, why, seen_version))


@transaction.atomic
def change_undo(*, change: Change, by: Any, now: datetime) -> Change:
    """Put a draft back to how it was before a change; only while nothing was changed since.

    What stood against the issued rota that the draft began from may stand against it again.
    """
    rota = _locked_draft(change.rota)
    change.refresh_from_db(fields=["undone_at"])
    stored = stored_rota(rota)
    if change.undone_at is not None or plan_data(stored.inputs, plan_of(rota, stored.inputs.values)) != change.new:
        raise ChangeOverwritten(change=change)
    plan, problem = stored.inputs.as_sat(_plan_from(stored.inputs, change.old)), stored.inputs.problem
    begun = check(problem, edits.drop_absent(problem, problem.issued)).faults if problem.issued else ()
    faults = edits.new_faults((*check(problem, stored.plan).faults, *begun), check(problem, plan).faults)
    if faults:
        raise rejected(stored.inputs, faults)
    undone = _write(rota, stored.inputs, plan, _Note(by, now, f"undone: {change.why}"[:300], None))
    for row in (change, undone):
        row.undone_at = now
        row_save(row=row)
    return undone


def plan_data(inputs: RotaInputs, plan: Plan) -> list[dict[str, Any]]:
    """A plan as JSON by uuids, in order: what a Change keeps."""
    values = inputs.values
    found = [
        {
            "place": "" if turn.person == LEADER else str(inputs.people[turn.person].uuid),
            "session": str(values.session_rows[turn.session].uuid),
            "hide": str(values.hide_rows[turn.hide].uuid),
            "seat": inputs.seat_key(turn.hide, turn.seat),
            "stays": turn.stays,
            "part": turn.part,
        }
        for turn in edits.sort_plan(plan).turns
    ]
    rests = [
        {"place": str(inputs.people[person].uuid), "session": str(values.session_rows[session].uuid), "hide": ""}
        for person, session in sorted(plan.rests)
    ]
    return [*found, *rests]


@dataclass(frozen=True)
class _Note:
    by: Any
    now: datetime
    why: str
    seen_version: int | None


def _locked_draft(rota: Rota) -> Rota:
    locked = Rota.objects.select_for_update(of=("self",)).select_related("trip", "follows").get(pk=rota.pk)
    if locked.state != RotaState.DRAFT:
        raise RotaNotDraft(rota=locked)
    return locked


def _write(rota: Rota, inputs: RotaInputs, plan: Plan, note: _Note) -> Change:
    """Rows, figures and the change record; what the solver proved of the draft no longer holds. Raises InputsGone."""
    rows_hold(inputs=inputs, plan=plan)
    old = plan_data(inputs, plan_of(rota, inputs.values))
    result = hand_result(inputs, plan, Made(status=BY_HAND))
    kept = {"repair": rota.result.get("repair", {}), "stages": rota.result.get("stages", []), "changed_by_hand": True}
    rota.result = result | kept
    rota.cell_light = light_of_cells(inputs.values)
    for column, digest in digests(inputs.problem).items():
        setattr(rota, column, digest)
    row_save(row=rota, seen_version=note.seen_version)
    rota_rows_write(rota=rota, inputs=inputs, plan=plan)
    return Change.objects.create(
        rota=rota, who=note.by, when=note.now, why=note.why, old=old, new=plan_data(inputs, inputs.as_issued(plan))
    )


def _after(inputs: RotaInputs, before: Plan, edit: Edit) -> Plan:
    session = _index(inputs.values.session_rows, edit.session)
    person = LEADER if edit.place is None else _index(inputs.people, edit.place)
    if edit.kind == "swap" and edit.other is not None:
        return edits.swap_places(before, session, person, _index(inputs.people, edit.other))
    if edit.kind == "rest":
        return edits.rest_person(before, person, session)
    if edit.kind == "stay":
        return edits.set_stay(before, person, session, edit.stays)
    if edit.kind != "move" or edit.hide is None:
        raise edits.NothingToChange(person=person, session=session)
    hide = _index(inputs.values.hide_rows, edit.hide)
    seats = [str(row.uuid) for row in inputs.values.hide_rows[hide].seats.all()]
    seat = seats.index(str(edit.seat.uuid)) if edit.seat is not None and str(edit.seat.uuid) in seats else NO_SEAT
    return edits.move_person(inputs.problem, before, Turn(person, session, hide, seat))


def _plan_from(inputs: RotaInputs, data: list[dict[str, Any]]) -> Plan:
    values = inputs.values
    people = {str(row.uuid): index for index, row in enumerate(inputs.people)} | {"": LEADER}
    sessions = {str(row.uuid): index for index, row in enumerate(values.session_rows)}
    hides = {str(row.uuid): index for index, row in enumerate(values.hide_rows)}
    seats = {seat.key: index for hide in values.hides for index, seat in enumerate(hide.seats)}
    try:
        turns = tuple(
            Turn(
                people[one["place"]],
                sessions[one["session"]],
                hides[one["hide"]],
                seats[one["seat"]],
                one["stays"],
                one["part"],
            )
            for one in data
            if one["hide"]
        )
        rests = tuple((people[one["place"]], sessions[one["session"]]) for one in data if not one["hide"])
    except KeyError as gone:
        raise ChangeOverwritten(change=None) from gone
    return edits.sort_plan(Plan(turns, rests))


def _index(rows: tuple[Any, ...], row: Any) -> int:
    found = [index for index, one in enumerate(rows) if one.pk == row.pk]
    if not found:
        raise edits.NothingToChange(person=None, session=None)
    return found[0]
