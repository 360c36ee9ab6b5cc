"""What a rota keeps of how it was made and what it is worth, as JSON; and the same read back."""

from dataclasses import dataclass
from typing import Any

from trips.assemble.rota import RepairFrom, RotaInputs, plan_of, rota_inputs
from trips.assemble.trip import TripValues, trip_values
from trips.core.rota.check.checker import Bound, Stated
from trips.core.rota.check.tallies import Tallies
from trips.core.rota.explain.promises import PersonCounts, promises
from trips.core.rota.files.digests import inputs_digest, rules_digest
from trips.core.rota.problem.shares import best_alone
from trips.core.rota.problem.values import LEADER, Plan, Problem, Turn
from trips.core.rota.search.outcome import Trade
from trips.documents.wording.rota import counts_sentence, guarantee_sentences, points_sentence, trade_sentence
from trips.documents.wording.rota_names import names_of
from trips.documents.wording.turn_why import TurnFacts, turn_why
from trips.models import Rota


@dataclass(frozen=True)
class Made:
    """How a plan came about. `stages`: one dict each (name, value, best, bound, proved, upwards); `bound`: of the
    worst share, None once the plan was changed by hand; `trades`: what an earlier wish gave up for a later one."""

    status: str
    bound: float | None = None
    stages: tuple[dict[str, Any], ...] = ()
    seed: int = 0
    search_time: str = ""
    trades: tuple[Trade, ...] = ()
    seconds: float | None = None
    solver_version: str = ""


@dataclass(frozen=True)
class StoredRota:
    """A stored rota with its problem as it stands now, and what the rota states of itself.

    `is_current`: rules and inputs are still those that it was made with; `stated` is None when they are not.
    """

    rota: Rota
    inputs: RotaInputs
    plan: Plan
    stated: Stated | None
    is_current: bool


def rota_result(
    inputs: RotaInputs, plan: Plan, made: Made, counted: Tallies, repair: RepairFrom | None
) -> dict[str, Any]:
    """Everything about a rota that is kept beside its turns; `seconds` is not in it, so that it can be compared."""
    problem, keys = inputs.problem, [str(row.uuid) for row in inputs.people]
    return {
        "status": made.status,
        "worst_share": counted.worst_share,
        "bound": made.bound,
        "total_of_shares": counted.total_of_shares,
        "stages": [dict(stage) for stage in made.stages],
        "shares": dict(zip(keys, counted.shares, strict=True)),
        "points": dict(zip(keys, counted.points, strict=True)),
        "best_alone": dict(zip(keys, best_alone(problem), strict=True)),
        "counts": {
            "rests": sum(counted.rests),
            "rests_repeated": counted.rests_repeated,
            "without_turn": counted.without_turn,
            "demand_excess": counted.demand_excess,
            "burden_excess": counted.burden_excess,
            "leader_seats": counted.leader_seats,
            "pairs_met": counted.pairs_met,
            "changes": len(counted.changes),
            "seat_changes": len(counted.seat_changes),
        },
        "told": told(problem, plan, made),
        "people": people_table(inputs, plan, counted),
        "why": why_table(inputs, plan),
        "repair": _repair(inputs.values, repair),
        "changed_by_hand": False,
    }


def told(problem: Problem, plan: Plan, made: Made) -> dict[str, list[str]]:
    """What people are told: counts first, then the guarantee, then points."""
    fewest = any(stage["name"] == "without_turn" and stage["proved"] for stage in made.stages)
    promised, names = promises(problem, plan, made.bound, fewest_without=fewest), names_of(problem)
    people = [counts for counts in promised.counts if counts.person not in problem.guests]
    return {
        "counts": [counts_sentence(counts, names) for counts in people],
        "guarantee": [*guarantee_sentences(promised, names), *map(trade_sentence, made.trades)],
        "points": [points_sentence(counts, names) for counts in people],
    }


def digests(problem: Problem) -> dict[str, str]:
    """The digests of a problem, by the names of the rota's columns."""
    return {"rules_digest": rules_digest(problem), "inputs_digest": inputs_digest(problem)}


def stored_rota(rota: Rota, values: TripValues | None = None) -> StoredRota:
    """Read a rota with its problem: of the whole trip, or of the repair that it was."""
    values = values or trip_values(rota.trip)
    inputs = rota_inputs(values, repair=_repair_of(rota, values), stored=rota)
    plan = inputs.as_sat(plan_of(rota, values))
    is_current = digests(inputs.problem) == {
        "rules_digest": rota.rules_digest,
        "inputs_digest": rota.inputs_digest,
    }
    return StoredRota(rota, inputs, plan, _stated(rota, inputs) if is_current else None, is_current)


def _repair(values: TripValues, repair: RepairFrom | None) -> dict[str, Any]:
    if repair is None:
        return {}
    sessions = [str(row.uuid) for row in values.session_rows]
    hides = [str(row.uuid) for row in values.hide_rows]
    return {
        "kind": repair.kind,
        "past": sessions[: repair.from_session],
        "departed": [[sessions[session], hides[hide]] for session, hide in sorted(repair.departed)],
        **({"aim": repair.aim.number} if repair.aim is not None else {}),
    }


def _repair_of(rota: Rota, values: TripValues) -> RepairFrom | None:
    stored = rota.result.get("repair") or {}
    if rota.follows is None or not stored:
        return None
    sessions = {str(row.uuid): index for index, row in enumerate(values.session_rows)}
    hides = {str(row.uuid): index for index, row in enumerate(values.hide_rows)}
    past = max((sessions[key] + 1 for key in stored["past"] if key in sessions), default=0)
    departed = frozenset(
        (sessions[session], hides[hide])
        for session, hide in stored["departed"]
        if session in sessions and hide in hides
    )
    aim = rota.trip.rotas.filter(number=stored["aim"]).first() if "aim" in stored else None
    return RepairFrom(rota.follows, stored["kind"], past, departed, rota.made_at, aim)


def _stated(rota: Rota, inputs: RotaInputs) -> Stated | None:
    result = rota.result
    if "shares" not in result:
        return None
    keys = [str(row.uuid) for row in inputs.people]
    bounds = [] if result.get("bound") is None else [Bound("worst_share", result["worst_share"], result["bound"])]
    return Stated(
        points=tuple(result["points"].get(key, 0.0) for key in keys),
        shares=tuple(result["shares"].get(key, 0.0) for key in keys),
        worst_share=result["worst_share"],
        total_of_shares=result["total_of_shares"],
        counts=tuple(sorted(result["counts"].items())),
        bounds=tuple(bounds),
    )


def people_table(inputs: RotaInputs, plan: Plan, counted: Tallies) -> dict[str, dict[str, Any]]:
    """By place: counts first (sought-after hides, good turns, rests, hardships, company), then share and points."""
    told = {counts.person: counts for counts in promises(inputs.problem, plan).counts}
    return {str(row.uuid): _line(inputs, counted, told[person]) for person, row in enumerate(inputs.people)}


def _line(inputs: RotaInputs, counted: Tallies, counts: PersonCounts) -> dict[str, Any]:
    person = counts.person
    return {
        "turns": counts.turns,
        "demand": {inputs.values.hides[hide].key: visits for hide, visits in counts.demand},
        "good": dict(counts.good),
        "rests": counts.rests,
        "burdens": counts.burdens,
        "leader": counted.leader_company[person],
        "share": round(counts.share, 4),
        "points": round(counted.points[person], 1),
        "guest": person in inputs.problem.guests,
    }


def why_table(inputs: RotaInputs, plan: Plan) -> dict[str, list[str]]:
    """By "place uuid/session uuid": why this person sits there, a sentence a line; nothing for leaders only."""
    return {
        f"{inputs.people[turn.person].uuid}/{inputs.values.session_rows[turn.session].uuid}": turn_why(
            _facts(inputs, turn), inputs.values.trip.units
        )
        for turn in plan.turns
        if turn.person != LEADER
    }


def _facts(inputs: RotaInputs, turn: Turn) -> TurnFacts:
    values, problem = inputs.values, inputs.problem
    key = str(inputs.people[turn.person].uuid)
    session, hide = values.sessions[turn.session], values.hides[turn.hide]
    wishes = values.wishes[key]
    votes = dict(wishes.votes)
    wanted = tuple(
        (values.subject(chance.subject).name, votes[chance.subject], chance.at(session.kind))
        for chance in hide.chances
        if chance.subject in votes
    )
    open_hides = sum(1 for other in range(len(values.hides)) if problem.may_sit(turn.person, turn.session, other))
    return TurnFacts(
        factors=inputs.table.factors[turn.person, turn.session, turn.hide],
        light_wish=wishes.light,
        photographs=wishes.photographs,
        reach=inputs.table.reaches.get((turn.person, turn.session, turn.hide)),
        subjects={subject.key: subject.name for subject in values.subjects},
        wanted=wanted,
        hide=hide.name,
        only_hide=open_hides == 1,
        sought_after=hide.sought_after,
        good=(turn.person, turn.session, turn.hide) in problem.good,
    )
