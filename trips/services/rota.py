"""What writes rotas: drafts, their issue, their retirement.

No rota is issued that the checker rejects, and none is saved, except a draft on its way by hand: it may begin where the
issued rota stands, also when a hide was closed since, and says that it is not sound yet.
"""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.assemble.cell_light import light_of_cells
from trips.assemble.repairs import repair_at
from trips.assemble.rota import RepairFrom, RotaInputs, plan_of, rota_inputs
from trips.assemble.rota_result import Made, digests, rota_result
from trips.assemble.trip import TripValues, trip_values
from trips.assemble.why_cannot_sit import trip_names
from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault
from trips.core.rota.check.tallies import Tallies
from trips.core.rota.edit.hand_edits import drop_absent
from trips.core.rota.problem.values import LEADER, Plan
from trips.core.session_rules import overlapping
from trips.documents.wording.effect import unsound_sentences
from trips.models import Issue, Rota, RotaState, Trip
from trips.selectors.session import local_hours
from trips.services.calendars import events_kept
from trips.services.issue_papers import issue_papers
from trips.services.issue_payload import issue_contents
from trips.services.notices import notices_write
from trips.services.rota_rows import rota_rows_write, rows_hold
from trips.services.session import SessionsOverlap
from trips.tasks.overdue import overdue_watch_set

BY_HAND = "by_hand"


class RotaRejected(CoreError):
    """The checker found faults in a rota: `faults`, and `names` with reasons for their sentences."""


class RotaNotDraft(CoreError):
    """Only a draft can be changed or issued: `rota`."""


class RotaNotIssued(CoreError):
    """Only an issued rota can be retired or followed: `rota`."""


@transaction.atomic
def rota_save(
    *, inputs: RotaInputs, plan: Plan, made: Made, by: Any, now: datetime, repair: RepairFrom | None = None
) -> Rota:
    """Save a plan as the trip's next draft. `now`: when its inputs were read. Raises RotaRejected, InputsGone."""
    if made.status == BY_HAND:
        result = hand_result(inputs, plan, made, repair)
    else:
        result = rota_result(inputs, plan, made, sound_tallies(inputs, plan), repair)
    rows_hold(inputs=inputs, plan=plan)
    trip = Trip.objects.select_for_update().get(pk=inputs.values.trip.pk)
    last = trip.rotas.aggregate(last=Max("number"))["last"] or 0
    rota = Rota.objects.create(
        trip=trip,
        number=last + 1,
        seed=made.seed,
        search_time=made.search_time,
        made_at=now,
        made_by=by,
        follows=repair.rota if repair else None,
        repair=repair.kind if repair else "",
        result=result,
        seconds=made.seconds,
        solver_version=made.solver_version,
        cell_light=light_of_cells(inputs.values),
        **digests(inputs.problem),
    )
    rota_rows_write(rota=rota, inputs=inputs, plan=plan)
    return rota


@transaction.atomic
def rota_follow(*, rota: Rota, by: Any, now: datetime) -> Rota:
    """A draft that begins as the issued rota stands, to be changed by hand: what has begun or left stays fixed.

    Whoever is no longer there has no turn; other rules that stand against the issued rota by now are to be mended.
    Asked twice it is one draft, until that is changed or what it is made from is.
    """
    Trip.objects.select_for_update().get(pk=rota.trip_id)
    if rota.state != RotaState.ISSUED:
        raise RotaNotIssued(rota=rota)
    values = trip_values(rota.trip)
    repair = repair_at(rota, values, now=now, kind="fewest")
    inputs = rota_inputs(values, repair=repair)
    made = Made(status=BY_HAND, seed=rota.seed, search_time=rota.search_time, solver_version=rota.solver_version)
    same = digests(inputs.problem) | {"follows": rota, "state": RotaState.DRAFT, "version": 1, "changes": None}
    begun = next((draft for draft in rota.trip.rotas.filter(**same) if draft.result["status"] == BY_HAND), None)
    if begun is not None:
        return begun
    plan = drop_absent(inputs.problem, inputs.as_sat(plan_of(rota, values)))
    return rota_save(inputs=inputs, plan=plan, made=made, by=by, now=now, repair=repair)


@transaction.atomic
def rota_issue(*, rota: Rota, by: Any, now: datetime, seen_version: int | None = None) -> Issue:
    """Reveal a draft to everybody at one moment: the earlier issue retires, and those affected are told.

    It is checked against the rows as they stand and against the issued rota: what has begun or left may not differ.
    Raises RotaRejected, SessionsOverlap, RotaNotDraft, Stale.
    """
    Trip.objects.select_for_update().get(pk=rota.trip_id)
    rota.refresh_from_db(fields=["state"])
    if rota.state != RotaState.DRAFT:
        raise RotaNotDraft(rota=rota)
    values = trip_values(rota.trip)
    issued = rota.trip.rotas.filter(state=RotaState.ISSUED).first()
    repair = repair_at(issued, values, now=now, kind=rota.repair or "free") if issued else None
    plan = plan_of(rota, values)
    inputs = rota_inputs(values, repair=repair)
    sound_tallies(inputs, inputs.as_sat(plan))
    _nobody_in_two_at_once(values, plan, now)
    if issued is not None:
        issued.state = RotaState.RETIRED
        row_save(row=issued)
    rota.state = RotaState.ISSUED
    row_save(row=rota, seen_version=seen_version)
    return _issue_write(rota, values, by, now)


@transaction.atomic
def rota_retire(*, rota: Rota, seen_version: int | None = None) -> Rota:
    """Take an issued rota out of force without another in its place."""
    if rota.state != RotaState.ISSUED:
        raise RotaNotIssued(rota=rota)
    rota.state = RotaState.RETIRED
    return row_save(row=rota, seen_version=seen_version)


def hand_result(inputs: RotaInputs, plan: Plan, made: Made, repair: RepairFrom | None = None) -> dict[str, Any]:
    """What a plan by hand keeps beside its turns; one that is not sound yet promises nothing.

    Raises RotaRejected for one that cannot even be counted.
    """
    verdict = check(inputs.problem, plan)
    if verdict.tallies is None:
        raise rejected(inputs, verdict.faults)
    result = rota_result(inputs, plan, made, verdict.tallies, repair)
    if verdict.faults:
        result["told"]["guarantee"] = unsound_sentences(verdict.faults, trip_names(inputs))
    return result | {"is_sound": verdict.is_sound}


def sound_tallies(inputs: RotaInputs, plan: Plan) -> Tallies:
    """The tallies of a plan that the checker accepts. Raises RotaRejected."""
    verdict = check(inputs.problem, plan)
    if not verdict.is_sound or verdict.tallies is None:
        raise rejected(inputs, verdict.faults)
    return verdict.tallies


def rejected(inputs: RotaInputs, faults: tuple[Fault, ...]) -> RotaRejected:
    """The refusal of a plan with these faults, with the names and reasons that its sentences need."""
    return RotaRejected(faults=faults, names=trip_names(inputs))


def _nobody_in_two_at_once(values: TripValues, plan: Plan, now: datetime) -> None:
    """Sessions are not kept apart where a trip file brings them; what has begun is past mending."""
    for pair in overlapping(values.sessions):
        both = sorted(set.intersection(*({turn.person for turn in plan.turns if turn.session == one} for one in pair)))
        if both and max(values.sessions[session].starts_at for session in pair) > now:
            one, other = (local_hours(values.session_rows[session]) for session in pair)
            names = ["the leader" if who == LEADER else values.place_rows[who].participant.name for who in both]
            raise SessionsOverlap(one=one, other=other, people=tuple(names))


def _issue_write(rota: Rota, values: TripValues, by: Any, now: datetime) -> Issue:
    last = Issue.objects.filter(rota__trip=rota.trip).order_by("-issued_at", "-pk").first()
    told = issue_contents(rota=rota, last=last, now=now, values=values)
    kept = issue_papers(rota=rota, values=values, last=last, now=now)
    papers = kept.papers | {"drawings": told.drawings}
    events = events_kept(events=kept.events, last=last, issued_at=now)
    issue = Issue.objects.create(rota=rota, issued_at=now, by=by, pages=told.pages, papers=papers, events=events)
    notices_write(issue=issue, told=told.told, by=by)
    overdue_watch_set(values.session_rows, now=now)
    return issue
