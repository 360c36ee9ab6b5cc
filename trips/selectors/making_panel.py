"""A run of the planner as its panel shows it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from trips.documents.wording.rota_reasons import HELP_BEGINS
from trips.models import Making
from trips.models.rota import ACTIVE_MAKING_STATES
from trips.selectors.making import NO_SIGN_AFTER_S, making_state, silence

LOOK_EVERY_S = 2  # how often an open page asks how far the run is
STAGE_WORDS = {
    "": "getting ready",
    "first_plan": "looking for a first plan",
    "rests": "as few rests as possible",
    "rests_repeated": "nobody rests twice before everybody has rested",
    "changes": "as few changes as possible",
    "seat_changes": "as few new seats as possible",
    "without_turn": "everybody in the hides in demand",
    "demand_excess": "turns in the hides in demand spread evenly",
    "worst_share": "the worst share as high as possible",
    "total_of_shares": "the sum of all shares",
    "next_worst": "the next-worst shares",
    "burden_excess": "burdens spread evenly",
    "leader_company": "the leader's company spread evenly",
    "leader_seats": "the leader takes no seat that somebody needs",
    "draw": "who goes without in the hides in demand, by lot",
    "served": "whoever went without comes first",
    "guests_without": "guests in spare seats",
    "pairs_met": "everybody meets everybody",
    "quality": "seats within a hide spread evenly",
}


def stage_words(stage: str) -> str:
    """A stage of the planner in words."""
    return STAGE_WORDS.get(stage, stage.replace("_", " "))


@dataclass(frozen=True)
class MakingPanel:
    """What the panel says. `gap`: how far from proof, 0-1, None unknown; `silent_s`: no sign of life for so long,
    0 where that is not worth a word.

    What would help is in `remedies` where it can be offered, and then not in `sentences` as well.
    """

    making: Making
    state: str
    stage: str
    best: float | None
    bound: float | None
    gap: float | None
    seconds: int
    silent_s: int
    rota_number: int | None
    sentences: tuple[str, ...]
    remedies: tuple[dict[str, Any], ...]

    @property
    def is_active(self) -> bool:
        """Whether the run waits or is under way."""
        return self.state in ACTIVE_MAKING_STATES

    @property
    def look_every_s(self) -> int:
        """How often an open page looks again."""
        return LOOK_EVERY_S


def making_panel(making: Making | None, now: datetime) -> MakingPanel | None:
    """The panel of the latest run, None where there was none."""
    if making is None:
        return None
    state = making_state(making, now)
    best, bound = making.best, making.bound
    gap = (bound - best) / bound if best is not None and bound else None
    end = making.ended_at or now
    seconds = max(0, int((end - making.started_at).total_seconds()))
    silent_s = int(silence(making, now).total_seconds())
    explanation = making.explanation or {}
    remedies = tuple(explanation.get("remedies", ()))
    told = explanation.get("leader", ())
    return MakingPanel(
        making=making,
        state=state,
        stage=stage_words(making.stage),
        best=best,
        bound=bound,
        gap=None if gap is None else max(0.0, gap),
        seconds=seconds,
        silent_s=silent_s if state in ACTIVE_MAKING_STATES and silent_s >= NO_SIGN_AFTER_S else 0,
        rota_number=making.rota.number if making.rota else None,
        sentences=tuple(one for one in told if not remedies or not one.startswith(HELP_BEGINS)),
        remedies=remedies,
    )
