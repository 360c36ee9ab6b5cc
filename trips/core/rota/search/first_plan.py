"""A first plan that keeps every rule: session by session, and all at once where that fails."""

from dataclasses import dataclass
from typing import Any

from trips.core.rota.model.cp_sat import StopSignal, Task, TaskResult, solve_tasks
from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.rules import rota_model
from trips.core.rota.model.space import SCALE, Cell, Draft, Space
from trips.core.rota.model.wishes import issued_places
from trips.core.rota.search.lp_relaxation import Triple

_BLOCK_WORK = 0.5  # deterministic seconds; one session is an assignment, mostly proved in a tenth of it
_HURRIED_WORK = 0.05  # once a run has to end: enough for any turns that fit
_COPY_WORK = 1.0  # for a model without choices, which presolve decides
_A_REST = -100_000  # worth of a rest: below that of any turn, which is between about -4,000 and 12,000
_AS_ISSUED = 500_000  # worth of an issued turn in a repair: above every other choice, rests among them
_PART = 10_000  # worth of a whole turn in the LP: it decides, and the gain (at most about 1,000) breaks ties


@dataclass(frozen=True, slots=True)
class FirstPlan:
    """`status`: feasible, infeasible (proved) or unknown."""

    status: str
    draft: Draft | None = None


def first_draft(space: Space, seed: int, work: float, stop: StopSignal) -> FirstPlan:
    """A draft that keeps every rule, found fast rather than good."""
    if space.impossible_cells:
        return FirstPlan("infeasible")
    draft = None if space.problem.half_together else _session_by_session(space, seed, stop)
    if draft is not None:
        return FirstPlan("feasible", draft)
    if stop.now():
        return FirstPlan("unknown")
    model = rota_model(space, space.empty_draft(), space.planned_cells())
    _hint_issued(space, model)
    found = solve_tasks([Task(model, work, seed, stop_at_first=True)], stop)[0]
    if found.draft is not None:
        return FirstPlan("feasible", found.draft)
    return FirstPlan("infeasible" if found.status == "infeasible" else "unknown")


def _hint_issued(space: Space, model: RotaModel) -> None:
    draft = space.empty_draft()
    for (person, session), hide in issued_places(space).items():
        draft.cells[person][session] = hide
    if space.problem.issued is not None:
        model.hint(draft)


def rounded_draft(space: Space, lp_values: dict[Triple, float], seed: int, stop: StopSignal) -> Draft | None:
    """The LP's fractional turns rounded to whole ones, session by session; none where pairs tie the sessions."""
    if space.problem.half_together or stop.now():
        return None
    return _session_by_session(space, seed, stop, lp_values)


def _session_by_session(
    space: Space, seed: int, stop: StopSignal, lp_values: dict[Triple, float] | None = None
) -> Draft | None:
    """Fill block after block, those with a small share so far first; None where a block cannot be filled."""
    draft = space.empty_draft()
    for block in blocks(space, space.open_cells()):
        model = rota_model(space, draft, block, whole=False)
        model.cp.maximize(_wanted(space, draft, model, lp_values or {}))
        found = _fill(model, seed, stop)
        if found.draft is None:
            return None
        draft = found.draft
    return draft if _keeps_rules(space, draft) else None


def _fill(model: RotaModel, seed: int, stop: StopSignal) -> TaskResult:
    """The best turns of a block. Once the run has to end, the first that fit: a poor plan is better than none."""
    if not stop.now():
        found = solve_tasks([Task(model, _BLOCK_WORK, seed)], stop)[0]
        if found.draft is not None or not stop.reached:
            return found
    return solve_tasks([Task(model, _HURRIED_WORK, seed, stop_at_first=True, hurried=True)], StopSignal())[0]


def _keeps_rules(space: Space, draft: Draft) -> bool:
    """Whether cells without a choice, which no block plans, keep every rule: a model that can only copy them."""
    settled = [(p, s) for p, s in space.planned_cells() if len(space.options[p][s]) == 1]
    if not settled:
        return True
    model = rota_model(space, draft, settled)
    for (person, session, hide), term in model.terms.items():
        model.cp.add(term == int(draft.cells[person][session] == hide))
    return solve_tasks([Task(model, _COPY_WORK, 1)], StopSignal())[0].draft is not None


def blocks(space: Space, cells: list[Cell]) -> list[frozenset[Cell]]:
    """Cells by session; joined sessions in one block."""
    lowest = list(range(space.sessions))
    for sessions in sorted(set(space.joined_of.values())):
        first = min(lowest[session] for session in sessions)
        merged = {lowest[session] for session in sessions}
        lowest = [first if low in merged else low for low in lowest]
    by_first: dict[int, set[Cell]] = {}
    for person, session in cells:
        by_first.setdefault(lowest[session], set()).add((person, session))
    return [frozenset(by_first[first]) for first in sorted(by_first)]


def _wanted(space: Space, draft: Draft, model: RotaModel, lp_values: dict[Triple, float]) -> Any:
    """Points for those who have few so far; rests are dear; in a repair, what was issued is dearer still."""
    issued = issued_places(space) if space.problem.repair in ("fewest", "few") else {}
    need = [_need(space, draft, person) for person in range(space.people)]
    terms, factors = [], []
    for (person, session, hide), term in model.terms.items():
        worth = _A_REST
        if hide >= 0:
            visits = min(space.visits(draft, person, hide), space.sessions - 1)
            gain = (space.gain[person][session][hide] - space.fee[person][hide][visits]) / SCALE
            part = lp_values.get((person, session, hide), 0.0)
            worth = round(_PART * part + 1000 * gain) if lp_values else round(1000 * gain * need[person])
        if issued.get((person, session)) == hide:
            worth += _AS_ISSUED
        terms.append(term)
        factors.append(worth)
    return model.expr.weighted_sum(terms, factors)


def _need(space: Space, draft: Draft, person: int) -> float:
    """How much a person's points weigh: twice, down to half for those whose turns so far were the best."""
    turns = sum(1 for cell in draft.cells[person] if cell >= 0)
    mean = space.share(draft, person) * space.sessions / SCALE / turns if turns else 1.0
    return 2.0 - min(max(mean, 0.0), 1.5)  # never nothing: the lucky are seated too
