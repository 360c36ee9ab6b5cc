"""Why a rota was not made, changed or issued: what is wrong, where, what to do."""

from collections.abc import Sequence

from participants.core.errors import BadShape, CoreError
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import listed, starting
from trips.documents.wording.sessions import session_refusal

REFUSALS = {
    "Stale": "The rota changed since you opened it. Look at it again before you go on.",
    "RotaNotDraft": "Only a draft can be changed or issued; this rota is kept as it is. Begin a draft from it instead.",
    "RotaNotIssued": "This rota is not in force, so there is nothing to begin from.",
    "NothingIssued": "You can only repair an issued rota, and there is none. Plan the whole trip instead.",
    "NothingToPlan": "There is nobody to seat yet, or no session: the trip's page says what is needed, in order.",
    "NothingToChange": "That is how it stands already.",
    "ChangeOverwritten": "The rota was changed again since; undo the later changes first.",
    "SeatPinned": "{who} is pinned to the seat {seat} of {hide} in that session: take that pin off first.",
    "NothingBefore": "No rota was issued before this one, so there is none to go back to.",
    "NobodyDrives": "No other car was named that takes the drops of {name}. Choose one beside it.",
    "RemedyGone": "Things have changed since this was offered; a new plan shows where it stands.",
}


def rota_refusal(refused: CoreError) -> str:
    """One paragraph; broken rules are named one by one."""
    faults = refused.data.get("faults")
    if faults:
        told = (fault_sentence(fault, refused.data["names"]) for fault in faults)
        return "The rules stand against it. " + " ".join(told)
    if "gone" in refused.data:
        return inputs_gone_sentence(refused.data["gone"])
    if "other" in refused.data:
        return session_refusal(refused)
    words = REFUSALS.get(type(refused).__name__, "That cannot be done with this rota.").format(**refused.data)
    return starting(words)


REASONS = {
    "not_json": "this is not JSON",
    "not_an_object": "this should be an object in braces",
    "not_a_list": "this should be a list",
    "not_a_name": "this should be a name, a text that is not empty",
    "not_printable": "a name is one line, without characters that cannot be printed",
    "not_true_or_false": "this should be true or false",
    "not_a_whole_number": "this should be a whole number",
    "not_a_number": "this should be a number",
    "not_one_of_those_allowed": "this is not one of the words allowed here",
    "out_of_range": "this number is out of range",
    "wrong_length": "this has the wrong length",
    "unknown_key": "there is no such key",
    "unknown_name": "nobody and nothing has this name",
    "missing": "this key is missing",
    "key_twice": "this key comes twice",
    "name_twice": "this name comes twice",
    "same_person_twice": "a pair needs two different people",
    "pinned_twice": "this person is pinned to another hide in the same session",
    "joined_twice": "a session of this hide is joined twice",
    "falls": "a later visit may not cost less than an earlier one",
}


def bad_shape_sentence(error: BadShape) -> str:
    """One sentence with path, value and reason."""
    where = ascii(error.path)[1:-1] if not error.path.isprintable() else error.path or "the whole file"
    value = "" if error.value is None else f" is {error.value!r}"
    return f"{where}{value}: {REASONS[error.reason]}."


def inputs_gone_sentence(gone: Sequence[str]) -> str:
    """Why a plan could not be saved: `gone` names what was taken out ("hide Alder")."""
    was = "was" if len(gone) == 1 else "were"
    return f"The trip changed while the rota was made ({listed(gone)} {was} taken out): start again."


def stop_sentence(state: str, *, has_begun: bool) -> str:
    """What pressing stop did to a run that is in that state now."""
    if state == "running":
        return "The run will stop. Its best plan so far becomes a draft."
    if state == "stopped" and not has_begun:
        return "The run is stopped; it had not begun, so there is no plan."
    return "The run had ended already."
