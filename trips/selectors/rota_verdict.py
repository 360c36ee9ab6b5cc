"""The checker's verdict on a stored rota, and why no rota is possible."""

from dataclasses import dataclass
from datetime import datetime

from trips.assemble.repairs import repair_at
from trips.assemble.rota import rota_inputs
from trips.assemble.rota_result import StoredRota, stored_rota
from trips.assemble.trip import trip_values
from trips.assemble.why_cannot_sit import trip_names
from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault
from trips.core.rota.explain.explain import DEFAULT_EFFORT, explain
from trips.core.rota.search.outcome import SearchTime
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_reasons import explanation_sentences
from trips.models import Rota, RotaState, Trip

# Of looking for conflicts, which are nearly always settled in a fraction of the first.
_EFFORTS = {SearchTime.QUICK: 1.0, SearchTime.NORMAL: DEFAULT_EFFORT, SearchTime.THOROUGH: 20 * DEFAULT_EFFORT}


@dataclass(frozen=True)
class Checked:
    """The checker's word on a stored rota. `notes`: what it could not compare."""

    faults: tuple[Fault, ...]
    sentences: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Explained:
    """Whether a rota can keep all rules: possible, impossible, unknown; `sentences` are for leaders."""

    verdict: str
    sentences: tuple[str, ...]


def rota_numbered(trip: Trip, number: int | None) -> Rota | None:
    """The rota of that number; without one the issued rota, or else the latest."""
    rotas = trip.rotas.select_related("trip__rules", "follows")
    if number is not None:
        return rotas.filter(number=number).first()
    return rotas.filter(state=RotaState.ISSUED).first() or rotas.order_by("-number").first()


def rota_checked(stored: StoredRota) -> Checked:
    """Judge a stored rota by the rows as they stand now."""
    verdict = check(stored.inputs.problem, stored.plan, stored.stated)
    names = trip_names(stored.inputs)
    notes = () if stored.is_current else ("The trip changed since it was made; its figures were counted anew.",)
    return Checked(verdict.faults, tuple(fault_sentence(fault, names) for fault in verdict.faults), notes)


def broken_sentences(rota: Rota, *, now: datetime) -> tuple[str, ...]:
    """The rules that a rota breaks as things stand at `now`: a draft in all, one that is issued in what is ahead."""
    if rota.state == RotaState.DRAFT:
        return rota_checked(stored_rota(rota)).sentences
    values = trip_values(rota.trip)
    inputs = rota_inputs(values, repair=repair_at(rota, values, now=now))
    faults = check(inputs.problem, inputs.problem.issued).faults if inputs.problem.issued else ()
    names = trip_names(inputs)
    return tuple(fault_sentence(fault, names) for fault in faults)


def trip_explained(trip: Trip, *, now: datetime, search_time: SearchTime = SearchTime.NORMAL) -> Explained:
    """Whether a rota is possible: of the whole trip, or of its rest once a rota is issued and has begun."""
    values = trip_values(trip)
    issued = trip.rotas.filter(state=RotaState.ISSUED).first()
    repair = repair_at(issued, values, now=now) if issued is not None else None
    inputs = rota_inputs(values, repair=repair, now=now)
    explanation = explain(inputs.problem, effort=_EFFORTS[search_time])
    return Explained(explanation.verdict, tuple(explanation_sentences(explanation, trip_names(inputs))))
