"""What a leader reads of a session on the day's sheet: air and wind, closed hides, and limits that seats stretch."""

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import list_text
from trips.assemble.presence_and_states import is_hot
from trips.assemble.trip import TripValues
from trips.core.access import access
from trips.core.values import Session
from trips.documents.quantities import temperature_text
from trips.documents.wording.advice import compass_text
from trips.documents.wording.reach import breach_sentence
from trips.models import HideState, SessionHide, Turn
from trips.models import Session as SessionRow


def forecast_words(values: TripValues, session: Session) -> str:
    """Air, wind and the hides beyond the heat limit, as far as they were entered."""
    airs = [hour.air_c for hour in session.forecast]
    ends = (min(airs), max(airs)) if airs else ()
    air = " to ".join(dict.fromkeys(temperature_text(one, values.trip.units) for one in ends))
    wind = "" if session.wind_from_deg is None else f"wind from {compass_text(session.wind_from_deg)}"
    hot = [isolated(hide.name) for hide in values.hides if is_hot(hide, session)]
    heat = f"beyond the heat limit in {list_text(hot)}" if hot else ""
    return ", ".join(part for part in (air, wind, heat) if part)


def stretched_words(values: TripValues, turn: Turn, name: str) -> str:
    """What a person would rather not do and does in this seat; empty where nothing is stretched, and for leaders."""
    if turn.place is None:
        return ""
    limits, hides = values.limits.get(str(turn.place.uuid), ()), {hide.key: hide for hide in values.hides}
    hide = hides.get(str(turn.hide.uuid))
    breaches = access(limits, hide).rather_not if hide else ()
    told = "; ".join(breach_sentence(breach, values.trip.units) for breach in breaches)
    return f"{isolated(name)}, {isolated(turn.hide.name)}: {told}" if told else ""


def closed_words(row: SessionRow) -> tuple[str, ...]:
    """The hides that are not ready, each with its reason, in the language in use."""
    states = [state for state in row.session_hides.all() if state.state != HideState.READY]
    return tuple(_closed_hide(state) for state in sorted(states, key=lambda state: state.hide.name))


def _closed_hide(state: SessionHide) -> str:
    told = {"hide": isolated(state.hide.name), "reason": isolated(str(state.reason or state.get_state_display()))}
    if state.state == HideState.NOTICE and state.notice_h:
        return _("{hide}: {reason}, {hours:g} h notice", hours=state.notice_h, **told)
    return _("{hide}: {reason}", **told)
