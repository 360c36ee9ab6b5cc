"""What would help where no rota exists, as data that a button can carry out: rows by uuid, one hide a remedy."""

from dataclasses import replace
from itertools import product
from typing import Any

from trips.assemble.loans import loans_at
from trips.assemble.rota import RotaInputs
from trips.core.rota.explain.conflicts import Explanation, Help
from trips.core.rota.problem.presence import open_sessions
from trips.core.rota.problem.values import LEADER, RAISED_BY
from trips.documents.wording.rota_names import RotaNames, starting
from trips.documents.wording.rota_reasons import help_phrase

# what a button can do; the others need a person to look first
BY_BUTTON = {
    "rest",
    "share_seat",
    "add_seat",
    "open_hide",
    *RAISED_BY,
    "unpin",
    "let_sit_apart",
    "less_together",
    "apart_may_meet",
    "lower_minimum",
    "allow_running",
    "part_sessions",
}


def remedies_data(explanation: Explanation, inputs: RotaInputs, names: RotaNames) -> list[dict[str, Any]]:
    """All remedies of an explanation, each once, in the order in which they were found."""
    found: list[dict[str, Any]] = []
    for conflict in explanation.conflicts:
        for offer in conflict.helps:
            for one in _each_hide(offer):
                data = _data(one, inputs, names)
                if data not in found:
                    found.append(data)
    return found


def _each_hide(offer: Help) -> list[Help]:
    if len(offer.hides) < 2 or offer.change not in ("share_seat", "add_seat", "open_hide", "lower_minimum"):
        return [offer]
    return [replace(offer, hides=(hide,)) for hide in offer.hides]


def _data(offer: Help, inputs: RotaInputs, names: RotaNames) -> dict[str, Any]:
    values, loan = inputs.values, _loan(offer, inputs, names)
    words = loan.pop("words", "")
    return {
        "change": offer.change,
        "people": ["" if person == LEADER else str(inputs.people[person].uuid) for person in offer.people],
        "sessions": [values.sessions[session].key for session in offer.sessions],
        "hides": [values.hides[hide].key for hide in offer.hides],
        "figures": dict(offer.figures),
        "by_button": offer.change in BY_BUTTON,
        "phrase": f"{starting(help_phrase(offer, names))}.{words}",
        **({"loan": loan} if loan else {}),
    }


def _loan(offer: Help, inputs: RotaInputs, names: RotaNames) -> dict[str, str]:
    """The loan that puts a hide within reach, as the form of loans takes it, and in words; nothing where none does."""
    values = inputs.values
    for person, hide in product(offer.people, offer.hides if offer.change == "lift_limit" else ()):
        short = [s for s in open_sessions(inputs.problem) if (person, s, hide) in inputs.table.faults]
        if short and len(names.why_cannot_sit.get((person, hide), ())) == 1:
            place, session = inputs.people[person], values.sessions[short[0]].key
            for loan in loans_at(values, place, session, values.hides[hide].key):
                one = next(one for one in loan.helps if one.piece)
                words = f" {names.hides[hide]}: {one.words}"
                return {"piece": one.piece, "borrower": loan.borrower, "session": session, "words": words}
    return {}
