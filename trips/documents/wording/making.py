"""What a leader reads of a run of the planner."""

from collections.abc import Sequence

from trips.documents.wording.rota_names import listed


def inputs_gone_sentence(gone: Sequence[str]) -> str:
    """Why a plan could not be saved: `gone` names what was taken out ("hide Alder")."""
    was = "was" if len(gone) == 1 else "were"
    return f"The trip changed while the rota was made ({listed(gone)} {was} taken out): start again."


def stop_sentence(state: str, *, has_begun: bool) -> str:
    """What pressing stop did to a run that is in that state now."""
    if state == "running":
        return "The run is told to stop; its best plan so far, if it has one, is kept as a draft."
    if state == "stopped" and not has_begun:
        return "The run is stopped; it had not begun, so there is no plan."
    return "The run had ended already."
