"""Why a person sits in a hide in a session: light, reach, wish and rule, each in a sentence."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from participants.core.isolation import isolated
from trips.core.reach import HideReach
from trips.core.rota.problem.points import TurnFactors
from trips.documents.wording.reach import reach_sentence

LIGHT_WORDS = {"front": "front light", "side": "side light", "back": "back light", "any": "any light"}
CHANCE_WORDS = ((0.75, "nearly always"), (0.45, "often"), (0.2, "sometimes"), (0.01, "rarely"))

LEADER_WHY = {
    "never": "By the trip's rules the leader takes no seat; this turn is older than that rule.",
    "spare_seats": "The leader takes a seat that is left when everybody else has theirs, by the trip's rules.",
    "coaching": "The leader sits beside people in turn, by the trip's rules, so that each has their company.",
}


@dataclass(frozen=True)
class TurnFacts:
    """What speaks for a turn. `wanted`: (subject, the person's votes, chance there and then) of wished subjects."""

    factors: TurnFactors
    light_wish: str
    photographs: bool
    hide: str
    reach: HideReach | None = None
    subjects: Mapping[str, str] = field(default_factory=dict)
    wanted: tuple[tuple[str, int, float], ...] = ()
    only_hide: bool = False
    sought_after: bool = False
    good: bool = False


def turn_why(facts: TurnFacts, units: str = "metric") -> list[str]:
    """The sentences, what matters most first; none names another person."""
    told = []
    if facts.only_hide:
        told.append(f"{isolated(facts.hide)} is the only hide open to you in this session.")
    if facts.sought_after:
        told.append(f"{isolated(facts.hide)} is sought after: its turns are shared out first.")
    if not facts.photographs:
        return [*told, "A guest takes a spare seat."]
    told += [_light(facts), *_reach(facts, units), _wish(facts), _points(facts)]
    return told


def _light(facts: TurnFacts) -> str:
    wish = LIGHT_WORDS[facts.light_wish]
    good = " A good turn." if facts.good else ""
    return f"Light: {facts.factors.light:.2f} of 1 for {wish} over its best 90 minutes.{good}"


def _reach(facts: TurnFacts, units: str) -> list[str]:
    if facts.reach is None:
        return []
    best = facts.reach.best
    return [f"Reach: {reach_sentence(best.reach, facts.subjects.get(best.subject or '', ''), units)}"]


def _wish(facts: TurnFacts) -> str:
    likely = [
        f"{isolated(name)} ({votes} {'vote' if votes == 1 else 'votes'}, comes {_chance(chance)})"
        for name, votes, chance in sorted(facts.wanted, key=lambda one: -one[1] * one[2])
        if chance > 0
    ]
    if likely:
        return f"Wish: {', '.join(likely)}; {facts.factors.wish:.2f} of what the trip can offer you."
    if facts.factors.wish >= 1.0:
        return "Wish: no votes are spent, so all subjects count alike."
    return "Wish: none of the subjects with your votes is expected here."


def _chance(chance: float) -> str:
    return next((word for limit, word in CHANCE_WORDS if chance >= limit), "never")


def _points(facts: TurnFacts) -> str:
    halved = ", halved because you would rather not go there" if facts.factors.halved else ""
    return f"Together {facts.factors.points:.0f} points of 100{halved}."
