"""What the checker found, in words: which rule, where, who."""

from collections.abc import Callable

from trips.core.rota.check.seating import Fault
from trips.documents.wording import rota_limits
from trips.documents.wording.rota_facts import RuleFacts
from trips.documents.wording.rota_names import RotaNames, starting


def fault_sentence(fault: Fault, names: RotaNames) -> str:
    """One fault as a sentence that names people, hide, session and rule."""
    if fault.rule.startswith("stated_"):
        return _stated(fault)
    return starting(_SENTENCES[fault.rule](RuleFacts(fault, names)))


def _stated(fault: Fault) -> str:
    figures = dict(fault.figures)
    what = fault.rule.removeprefix("stated_").replace("_", " ")
    if "stated" not in figures:
        return f"The {what} that the rota states are not those counted."
    return f"The rota states {what} {figures['stated']:g}; counted: {figures['counted']:g}."


_SENTENCES: dict[str, Callable[[RuleFacts], str]] = {
    **rota_limits.FAULTS,
    "unknown": lambda f: "a turn or rest names somebody or something that is not on this trip.",
    "two_turns": lambda f: f"{f.who} has two turns in {f.when}.",
    "two_rests": lambda f: f"{f.who} rests twice in {f.when}.",
    "turn_and_rest": lambda f: f"{f.who} has a turn and a rest in {f.when}.",
    "guest_rests": lambda f: f"{f.who} is a guest and has a rest in {f.when}: guests only sit in spare seats.",
    "no_turn": lambda f: f"{f.who} has neither a turn nor a rest in {f.when}.",
    "absent": lambda f: f"{f.who} is not there in {f.when}.",
    "absent_rests": lambda f: f"{f.who} is not there in {f.when} and cannot rest then.",
    "rests_not_allowed": lambda f: (
        f"{f.who} {f.verb('rests', 'rest')} in {f.when}; {f.allowed('allowed', 'rest')} then."
    ),
    "cannot": lambda f: f"{f.who} cannot sit in {f.cannot_sit} ({f.when}).",
    "together": lambda f: f"{f.together}, but not in {f.when}.",
    "helper": lambda f: f"{f.first} helps {f.second}, but they are not together in {f.when}.",
    "half_together": lambda f: (
        f"{f.who} sit together half the time: {f.count('wanted', 'session')}, but only {f.number('shared')}."
    ),
    "apart": lambda f: f"{f.apart}, but share {f.hide} in {f.when}.",
    "one_piece": lambda f: f"{f.who} share a piece of gear, but sit in different hides in {f.when}.",
    "twice_running": lambda f: f"{f.who} sits in {f.hide} in two sessions running ({f.when}).",
    "pin": lambda f: f"{f.pinned}, but does not sit there.",
    "pin_seat": lambda f: f"{f.who} is pinned to another seat of {f.hide} in {f.when}.",
    "stay_missing": lambda f: f"{f.who} is to stay in {f.hide} through the break after {f.when}.",
    "stay_broken": lambda f: f"{f.who} stays in {f.hide} through the break, but does not keep the seat ({f.when}).",
    "past": lambda f: f"{f.when} is over: the turn of {f.who} cannot change.",
    "left": lambda f: f"the car to {f.hide} has left in {f.when}: the turn of {f.who} cannot change.",
    "closed": lambda f: f"{f.not_available}, but {f.who} {f.are} there.",
    "too_many": lambda f: f"{f.hide} has {f.seats} in {f.when}, but {f.people} {f.are} there: {f.who}.",
    "too_few": lambda f: (
        f"{f.hide} needs {f.count('minimum', 'participant')} in {f.when}, but has {f.number('people')}."
    ),
    "joined": lambda f: f"{f.hide} is closed between {f.when}: {f.who} {f.are} not there throughout.",
    "seat_unknown": lambda f: f"{f.who} has a seat that {f.hide} does not have ({f.when}).",
    "seat_out": lambda f: f"the seat of {f.who} in {f.hide} is out of use in {f.when}.",
    "seat_twice": lambda f: f"{f.who} have the same seat of {f.hide} in {f.when}.",
    "part_not_allowed": lambda f: f"no seat is shared in {f.hide} in {f.when}, but {f.who} would share one.",
    "parts": lambda f: f"a hand-over in {f.hide} in {f.when} needs two people in one seat, in turns: {f.who}.",
    "leader_part": lambda f: f"the leader takes no part in a hand-over: {f.who} in {f.hide} in {f.when}.",
    "hand_over_missing": lambda f: f"one seat of {f.hide} is handed over in {f.when}: say between whom ({f.who}).",
    "leader_never": lambda f: f"the leader takes no seat on this trip, but sits in {f.hide} in {f.when}.",
    "leader_before_rest": lambda f: f"{f.second} rests in {f.when} although the leader's seat in {f.hide} would fit.",
    "leader_better_seat": lambda f: f"the leader's seat in {f.hide} in {f.when} would give {f.second} more points.",
    "guest_first": lambda f: (
        f"{f.first} is a guest in {f.hide} in {f.when}, while {f.second} rests and could sit there."
    ),
    "bound": lambda f: (
        f"a stage ends at {f.figures['value']:g} but the best possible is {f.figures['bound']:g}: one is wrong."
    ),
}
