"""Why no rota keeps all rules, and what would help, in words that name people, hides, sessions and rules."""

from collections.abc import Callable

from trips.core.rota.explain.conflicts import Conflict, Explanation, Help
from trips.documents.wording import rota_limits
from trips.documents.wording.rota_facts import RuleFacts
from trips.documents.wording.rota_names import WHOLE_GROUP, RotaNames, listed, number, starting, times

HELP_BEGINS = "What would help:"  # so that a page which offers the same as buttons can leave the sentence out


def explanation_sentences(explanation: Explanation, names: RotaNames, *, for_leader: bool = True) -> list[str]:
    """The whole answer, a sentence a line: each conflict, then what would help with it."""
    if explanation.verdict == "possible":
        return ["A rota that keeps all rules exists."]
    if explanation.verdict == "unknown":
        return ["There was not enough time to find out if a rota can keep all rules. Choose a longer search time."]
    sentences: list[str] = []
    for conflict in explanation.conflicts:
        sentences += conflict_sentences(conflict, names, for_leader=for_leader)
    return sentences


def refusal_sentences(explanation: Explanation, names: RotaNames, *, for_leader: bool = True) -> list[str]:
    """The same where the planner has proved already that no rota keeps all rules."""
    if explanation.verdict == "impossible":
        return explanation_sentences(explanation, names, for_leader=for_leader)
    return ["There was not enough time to find out which rules conflict."]


def conflict_sentences(conflict: Conflict, names: RotaNames, *, for_leader: bool = True) -> list[str]:
    """A conflict's rules and its offers. Where it rests on "apart", others than leaders read no more than that."""
    if conflict.rests_on_apart and not for_leader:
        return [f"No rota is possible: more room is needed {WHOLE_GROUP}."]
    told = [starting(_REASONS[reason.rule](RuleFacts(reason, names))) for reason in conflict.reasons]
    if len(told) > 1:
        told = ["These cannot hold together:", *told]
    if not conflict.is_minimal:
        told.append("Some of these may not be part of the conflict. There was not enough time to check.")
    offers = [help_phrase(offer, names) for offer in conflict.helps]
    if offers:
        told.append(f"{HELP_BEGINS} {listed(offers, 'or')}.")
    return told


def help_phrase(offer: Help, names: RotaNames) -> str:
    """One change, as part of a sentence."""
    return _HELPS[offer.change](RuleFacts(offer, names))


def _seats(f: RuleFacts) -> str:
    return f"{f.when}: {f.people}, {f.seats}{f.rests}, {f.number('short')} short."


def _few_hides(f: RuleFacts) -> str:
    if not f.item.hides:
        return f"{f.when}: {f.who} fit into no hide{f.rests}."
    return f"{f.when}: {f.who} can sit only in {f.either}, with {f.seats}{f.rests}, {f.number('short')} short."


def _open(f: RuleFacts) -> str:
    return (
        f"{f.when}: at most {f.count('most', 'hide')}{' more' if f.gone else ''} may be open, and the largest "
        f"have {f.seats}; {f.people}{f.rests}, "
        f"{f.number('short')} short."
    )


def _least_change(f: RuleFacts) -> str:
    """The hide that asks for the smallest change, with its numbers, where that is known; or what sets a driver free."""
    (person,) = f.item.people
    if any((person, hide) in f.names.driving for hide in f.item.hides):
        return " if another person drives, the drops come in another order or the car goes twice"
    hide = f.names.least.get(person)
    words = f.names.why_cannot_sit.get((person, hide), ()) if hide is not None and hide in f.item.hides else ()
    return f" (the smallest change is {f.names.hides[hide]}: {', '.join(words)})" if hide is not None and words else ""


_REASONS: dict[str, Callable[[RuleFacts], str]] = {
    **rota_limits.REASONS,
    "seats": _seats,
    "seats_open_at_once": _open,
    "few_hides": _few_hides,
    "no_hide": lambda f: f"no hide fits {f.who} ({f.when}): {f.cannot_sit}.",
    "together_and_apart": lambda f: f"{f.who} are to sit together always and to be kept apart.",
    "pin_closed": lambda f: f"{f.pinned}, but {f.hide} is not available then.",
    "pin_absent": lambda f: f"{f.pinned}, but not there then.",
    "pin_cannot": lambda f: f"{f.pinned}, but cannot sit there: {f.cannot_sit}.",
    "pin_seat_out": lambda f: (
        f"{f.who} {f.are} pinned to a seat of {f.hide} in {f.when}, but that seat is out of use then."
    ),
    "pin_left": lambda f: (
        f"{f.who} {f.are} pinned to {f.names.hides[f.item.hides[0]]} in {f.when}, but the car to "
        f"{f.names.hides[f.item.hides[-1]]}, where {f.who} {f.verb('sits', 'sit')} then, has left."
    ),
    "pins_one_seat": lambda f: f"{f.who} are pinned to one and the same seat of {f.hide} in {f.when}.",
    "pins_seats": lambda f: f"{f.pinned}, which has {f.seats} then.",
    "pins_open_at_once": lambda f: f"{f.pinned}: {f.count('open', 'hide')}, at most {f.number('most')} may be open.",
    "pins_apart": lambda f: f"{f.pinned}, but are kept apart.",
    "pins_together": lambda f: f"{f.pinned}, but sit together always.",
    "pins_one_piece": lambda f: f"{f.pinned}, but share a piece of gear.",
    "pins_running": lambda f: f"{f.pinned}: never the same hide twice running.",
    "pins_visits": lambda f: (
        f"{f.who} {f.are} pinned to {f.hide} {times(f.number('pins'))}; at most {f.allowed('most', 'visit')}."
    ),
    "pair_fits_nowhere": lambda f: (
        f"{f.together}, but in {f.when} no hide that both can use has two seats"
        f"{f' ({f.hide})' if f.item.hides else ''}."
    ),
    "apart_hides": lambda f: (
        f"{f.when}: {f.who} are all kept apart from each other and need {f.count('people', 'hide')}, "
        f"but {f.number('hides')} can be open{f.rests}."
    ),
    "visits": lambda f: (
        f"{f.who} {f.verb('has', 'have')} {f.count('sessions', 'session')} ({f.when}), but only {f.either} "
        f"within reach, and at most {f.count('most', 'visit')} in each: {f.count('visits', 'visit')} in all."
    ),
    "turn": lambda f: f"{f.who} {f.verb('needs', 'need')} a turn{f.inside}.",
    "rests": lambda f: f"{f.count('rests', 'person', 'people')} may rest in {f.when}.",
    "guests_last": lambda f: f"{f.who} is a guest and sits only where nobody who rests could sit.",
    "closed": lambda f: f"{f.not_available}.",
    "cannot": lambda f: f"{f.who} cannot sit in {f.cannot_sit}{f.inside}.",
    "capacity": lambda f: (
        f"{f.hide} has {f.seats}{f.inside}{', one of them pinned to the leader' if f.number('leader') else ''}."
    ),
    "minimum": lambda f: f"{f.hide} opens for {f.count('minimum', 'person', 'people')} or more{f.inside}.",
    "together": lambda f: f"{f.together}.",
    "helper": lambda f: f"{f.who} sit together: one helps the other.",
    "half_together": lambda f: f"{f.who} sit together in {f.count('wanted', 'session')} or more.",
    "apart": lambda f: f"{f.apart}.",
    "one_piece": lambda f: f"{f.who} share a piece of gear in {f.when}: it is at one hide at a time.",
    "pin": lambda f: f"{f.pinned}.",
    "stay": lambda f: f"{f.who} {f.verb('stays', 'stay')} in {f.hide} through the break after {f.when}.",
    "joined": lambda f: f"{f.hide} has the same people throughout {f.when}.",
    "twice_running": lambda f: f"{f.who} may not sit in {f.either} in two sessions running.",
}

_HELPS: dict[str, Callable[[RuleFacts], str]] = {
    **rota_limits.REMEDIES,
    "rest": lambda f: (
        f"{number(f.number('people'))}{' more' if 'further' in f.figures else ''} "
        f"{'rests' if f.number('people') == 1 else 'rest'} in turn ({f.when})"
    ),
    "share_seat": lambda f: f"two people share a seat in {f.either} ({f.when})",
    "add_seat": lambda f: f"a seat is added in {f.either}",
    "open_hide": lambda f: f"{f.either} is made ready for {f.when}",
    "unpin": lambda f: f"the pin of {f.who} to {f.hide} ({f.when}) is taken off",
    "end_stay": lambda f: f"{f.who} no longer stays in {f.hide} after {f.when}",
    "let_sit_apart": lambda f: f"{f.who} do not have to sit together",
    "less_together": lambda f: f"{f.who} sit together less often",
    "apart_may_meet": lambda f: f"{f.who} may share a hide",
    "end_sharing": lambda f: f"{f.who} no longer share a piece of gear in {f.when}",
    "lower_minimum": lambda f: f"{f.either} opens for {f.count('minimum', 'person', 'people')}",
    "allow_running": lambda f: "the same hide twice running is allowed",
    "part_sessions": lambda f: f"people may change over in {f.hide} between {f.when}",
    "lift_limit": lambda f: f"{f.who} can sit in {f.either} after all{_least_change(f)}",
}
