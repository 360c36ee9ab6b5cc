"""Why somebody cannot sit in a hide, as short phrases: reach and limits with both numbers."""

from dataclasses import replace

from trips.assemble.rota import RotaInputs
from trips.core.access import access, smallest_change
from trips.documents.wording.reach import breach_sentence, reach_sentence
from trips.documents.wording.rota_names import RotaNames, names_of


def trip_names(inputs: RotaInputs) -> RotaNames:
    """The names of a trip's problem, with what stands against people in hides."""
    return replace(names_of(inputs.problem, why_cannot_sit(inputs)), least=smallest_changes(inputs))


def why_cannot_sit(inputs: RotaInputs) -> dict[tuple[int, int], tuple[str, ...]]:
    """(person, hide) -> what stands against it, for everybody who cannot sit there in some session."""
    problem, values = inputs.problem, inputs.values
    then = {(person, hide) for person, _, hide in problem.cannot_then}
    found = {}
    for person, hide in sorted(problem.cannot | then):
        place = inputs.people[person]
        units = values.trip.units
        breaches = access(values.limits[str(place.uuid)], values.hides[hide], _longest_h(inputs)).cannot
        phrases = [breach_sentence(breach, units) for breach in breaches]
        faulty = next((s for p, s, h in sorted(inputs.table.faults) if (p, h) == (person, hide)), None)
        if faulty is not None:
            reach = inputs.table.reaches[person, faulty, hide]
            phrases.append(reach_sentence(reach.best.reach, units=units).rstrip("."))
        found[person, hide] = tuple(phrases)
    return found


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
