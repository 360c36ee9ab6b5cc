"""Why somebody cannot sit in a hide, as short phrases: reach and limits with both numbers, and what they drive."""

from dataclasses import replace

from trips.assemble.rota import RotaInputs
from trips.core.access import access, smallest_change
from trips.core.rota.problem.values import LEADER
from trips.documents.wording.drives import driver_phrase
from trips.documents.wording.reach import breach_sentence, reach_sentence
from trips.documents.wording.rota_names import RotaNames, names_of


def trip_names(inputs: RotaInputs) -> RotaNames:
    """The names of a trip's problem, with what stands against people in hides."""
    lasting = {cell for cell in inputs.problem.cannot_then if cell not in inputs.driven}
    against = inputs.problem.cannot | {(person, hide) for person, _, hide in lasting}
    driving = frozenset((person, hide) for person, _, hide in inputs.driven) - against
    names = names_of(inputs.problem, why_cannot_sit(inputs))
    return replace(names, least=smallest_changes(inputs), driving=driving)


def why_cannot_sit(inputs: RotaInputs) -> dict[tuple[int, int], tuple[str, ...]]:
    """(person, hide) -> what stands against it, for everybody who cannot sit there in some session."""
    problem = inputs.problem
    then = {(person, hide) for person, _, hide in problem.cannot_then}
    return {
        (person, hide): (*_lasting(inputs, person, hide), *_driving(inputs, person, hide))
        for person, hide in sorted(problem.cannot | then)
    }


def _lasting(inputs: RotaInputs, person: int, hide: int) -> tuple[str, ...]:
    """Limits and reach."""
    if person == LEADER:
        return ()
    values, units = inputs.values, inputs.values.trip.units
    limits = values.limits[str(inputs.people[person].uuid)]
    phrases = [breach_sentence(one, units) for one in access(limits, values.hides[hide], _longest_h(inputs)).cannot]
    faulty = next((s for p, s, h in sorted(inputs.table.faults) if (p, h) == (person, hide)), None)
    if faulty is not None:
        reach = inputs.table.reaches[person, faulty, hide]
        phrases.append(reach_sentence(reach.best.reach, units=units).rstrip("."))
    return tuple(phrases)


def _driving(inputs: RotaInputs, person: int, hide: int) -> tuple[str, ...]:
    """What they drive, and which hides that leaves, where those are the same in all its sessions."""
    problem, names = inputs.problem, names_of(inputs.problem)
    sessions = [session for session in range(len(problem.sessions)) if (person, session, hide) in inputs.driven]
    if not sessions:
        return ()
    left = {tuple(h for h in range(len(problem.hides)) if problem.may_sit(person, s, h)) for s in sessions}
    hides = names.hide_list(left.pop()) if len(left) == 1 else ""
    return (driver_phrase(inputs.driven[person, sessions[0], hide], names.session_list(sessions), hides),)


def smallest_changes(inputs: RotaInputs) -> dict[int, int]:
    """By person the hide within reach of their gear that asks for the smallest change of a limit."""
    values, found = inputs.values, {}
    faulty = {(person, hide) for person, _, hide in inputs.table.faults}
    for person in sorted({person for person, _ in inputs.problem.cannot}):
        limits = values.limits[str(inputs.people[person].uuid)]
        closed = {
            hide.key: index
            for index, hide in enumerate(values.hides)
            if (person, index) in inputs.problem.cannot and (person, index) not in faulty
        }
        least = smallest_change(tuple(access(limits, hide) for hide in values.hides if hide.key in closed))
        if least is not None:
            found[person] = closed[least.hide]
    return found


def _longest_h(inputs: RotaInputs) -> float:
    lengths = [(session.ends_at - session.starts_at).total_seconds() / 3600 for session in inputs.values.sessions]
    return max(lengths, default=0.0)
