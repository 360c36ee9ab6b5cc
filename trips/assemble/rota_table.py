"""What a rota's page tells of its people and of each turn, worked out once when the rota is saved."""

from typing import Any

from trips.assemble.rota import RotaInputs
from trips.core.rota.check.tallies import Tallies
from trips.core.rota.explain.promises import PersonCounts, promises
from trips.core.rota.problem.values import LEADER, Plan, Turn
from trips.documents.wording.turn_why import TurnFacts, turn_why


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
