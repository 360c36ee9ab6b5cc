"""Why a rota was not made, changed or issued: what is wrong, where, what to do."""

from participants.core.errors import CoreError
from trips.documents.wording.making import inputs_gone_sentence
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import names_of, starting
from trips.documents.wording.sessions import session_refusal

REFUSALS = {
    "Stale": "The rota changed since you opened it. Look at it again before you go on.",
    "RotaNotDraft": "Only a draft can be changed or issued; this rota is kept as it is. Begin a draft from it instead.",
    "RotaNotIssued": "This rota is not in force, so there is nothing to begin from.",
    "NothingIssued": "A repair begins from an issued rota, and none is in force: plan the whole trip anew.",
    "NothingToPlan": "There is nobody to seat yet, or no session: the trip's page says what is needed, in order.",
    "NothingToChange": "That is how it stands already.",
    "ChangeOverwritten": "The rota was changed again since; undo the later changes first.",
    "SeatPinned": "{who} is pinned to the seat {seat} of {hide} in that session: take that pin off first.",
    "RemedyGone": "Things have changed since this was offered; a new plan shows where it stands.",
}


def rota_refusal(refused: CoreError) -> str:
    """One paragraph; broken rules are named one by one."""
    faults = refused.data.get("faults")
    if faults:
        names = names_of(refused.data["problem"])
        return "The rules stand against it. " + " ".join(fault_sentence(fault, names) for fault in faults)
    if "gone" in refused.data:
        return inputs_gone_sentence(refused.data["gone"])
    if "other" in refused.data:
        return session_refusal(refused)
    words = REFUSALS.get(type(refused).__name__, "That cannot be done with this rota.").format(**refused.data)
    return starting(words)
