"""Why no rota keeps all rules, and what would help, in words that name people, hides, sessions and rules."""

from collections.abc import Callable

from trips.core.rota.explain.conflicts import Conflict, Explanation, Help, Reason
from trips.documents.wording import rota_limits
from trips.documents.wording.rota_names import WHOLE_GROUP, RotaNames, count, listed, number, starting, times

HELP_BEGINS = "What would help:"  # so that a page which offers the same as buttons can leave the sentence out


def explanation_sentences(explanation: Explanation, names: RotaNames, *, for_leader: bool = True) -> list[str]:
    """The whole answer, a sentence a line: each conflict, then what would help with it."""
    if explanation.verdict == "possible":
        return ["A rota that keeps all rules exists."]
    if explanation.verdict == "unknown":
        return ["Whether a rota can keep all rules was not settled in the time given; try with more effort."]
    sentences: list[str] = []
    for conflict in explanation.conflicts:
        sentences += conflict_sentences(conflict, names, for_leader=for_leader)
    return sentences


def refusal_sentences(explanation: Explanation, names: RotaNames, *, for_leader: bool = True) -> list[str]:
    """The same where the planner has proved already that no rota keeps all rules."""
    if explanation.verdict == "impossible":
        return explanation_sentences(explanation, names, for_leader=for_leader)
    return ["Which rules stand against each other was not settled in the time given."]


def conflict_sentences(conflict: Conflict, names: RotaNames, *, for_leader: bool = True) -> list[str]:
    """A conflict's rules and its offers. Where it rests on "apart", others than leaders read no more than that."""
    if conflict.rests_on_apart and not for_leader:
        return [f"No rota is possible as things are: more room is needed {WHOLE_GROUP}."]
    told = [starting(_REASONS[reason.rule](_Facts(reason, names))) for reason in conflict.reasons]
    if len(told) > 1:
        told = ["These cannot hold together:", *told]
    if not conflict.is_minimal:
        told.append("Some of these may not be needed for the conflict; the time did not allow to tell.")
    offers = [help_phrase(offer, names) for offer in conflict.helps]
    if offers:
        told.append(f"{HELP_BEGINS} {listed(offers, 'or')}.")
    return told


def help_phrase(offer: Help, names: RotaNames) -> str:
    """One change, as part of a sentence."""
    return _HELPS[offer.change](_Facts(offer, names))


class _Facts:
    """The names of one reason or offer, ready for its sentence."""

    def __init__(self, item: Reason | Help, names: RotaNames) -> None:
        self.item = item
        self.names = names
        self.who = names.persons(item.people)
        self.when = names.session_list(item.sessions)
        self.inside = f" in {self.when}" if item.sessions else ""
        self.hide = names.hide_list(item.hides)
        self.either = names.hide_list(item.hides, "or")
        self.are = "is" if len(item.people) == 1 else "are"
        self.have = "has" if len(item.people) == 1 else "have"

    def figure(self, name: str) -> int:
        """A whole number of the reason."""
        return int(self.item.figure(name))

    @property
    def rests(self) -> str:
        """The rests that are allowed, where there are any."""
        return f", {count(self.figure('rests'), 'rest')} allowed" if self.figure("rests") else ""

    @property
    def gone(self) -> str:
        """That the people counted are not all, where some have left for their hides."""
        return " besides those whose car has left" if "gone" in dict(self.item.figures) else ""

    @property
    def barred(self) -> str:
        """Hide by hide, what stands against the person."""
        told = []
        for person in self.item.people:
            for hide in self.item.hides:
                words = self.names.barred.get((person, hide), ())
                told.append(f"{self.names.hides[hide]} ({', '.join(words)})" if words else self.names.hides[hide])
        return listed(told)


def _people(value: float) -> str:
    return count(value, "person", "people")


def _seats(f: _Facts) -> str:
    return (
        f"{f.when}: {_people(f.figure('people'))}{f.gone}, {count(f.figure('seats'), 'seat')}{f.rests}, "
        f"{f.figure('short')} short."
    )


def _few_hides(f: _Facts) -> str:
    if not f.item.hides:
        return f"{f.when}: {f.who} fit into no hide{f.rests}."
    return (
        f"{f.when}: {f.who} can sit only in {f.either}, with {count(f.figure('seats'), 'seat')}{f.rests}, "
        f"{f.figure('short')} short."
    )


def _open(f: _Facts) -> str:
    return (
        f"{f.when}: at most {count(f.figure('most'), 'hide')}{' more' if f.gone else ''} may be open, and the largest "
        f"have {count(f.figure('seats'), 'seat')}; {_people(f.figure('people'))}{f.gone}{f.rests}, "
        f"{f.figure('short')} short."
    )


def _least_change(f: _Facts) -> str:
    """The hide that asks for the smallest change, with its numbers, where that is known."""
    (person,) = f.item.people
    hide = f.names.least.get(person)
    words = f.names.barred.get((person, hide), ()) if hide is not None and hide in f.item.hides else ()
    return f" (the smallest change is {f.names.hides[hide]}: {', '.join(words)})" if hide is not None and words else ""


_REASONS: dict[str, Callable[[_Facts], str]] = {
    **rota_limits.REASONS,
    "seats": _seats,
    "seats_open_at_once": _open,
    "few_hides": _few_hides,
    "no_hide": lambda f: f"no hide fits {f.who} ({f.when}): {f.barred}.",
    "together_and_apart": lambda f: f"{f.who} are to sit together always and to be kept apart.",
    "pin_closed": lambda f: f"{f.who} {f.are} pinned to {f.hide} in {f.when}, but {f.hide} is not available then.",
    "pin_absent": lambda f: f"{f.who} {f.are} pinned to {f.hide} in {f.when}, but not there then.",
    "pin_cannot": lambda f: f"{f.who} {f.are} pinned to {f.hide} in {f.when}, but cannot sit there: {f.barred}.",
    "pin_seat_out": lambda f: (
        f"{f.who} {f.are} pinned to a seat of {f.hide} in {f.when}, but that seat is out of use then."
    ),
    "pin_left": lambda f: (
        f"{f.who} {f.are} pinned to {f.names.hides[f.item.hides[0]]} in {f.when}, but the car to "
        f"{f.names.hides[f.item.hides[-1]]}, where {f.who} {'sits' if f.are == 'is' else 'sit'} then, has left."
    ),
    "pins_one_seat": lambda f: f"{f.who} are pinned to one and the same seat of {f.hide} in {f.when}.",
    "pins_seats": lambda f: (
        f"{f.who} are pinned to {f.hide} in {f.when}, which has {count(f.figure('seats'), 'seat')} then."
    ),
    "pins_open_at_once": lambda f: (
        f"{f.who} {f.are} pinned to {f.hide} in {f.when}: {count(f.figure('open'), 'hide')}, "
        f"at most {f.figure('most')} may be open."
    ),
    "pins_apart": lambda f: f"{f.who} are pinned to {f.hide} in {f.when}, but are kept apart.",
    "pins_together": lambda f: f"{f.who} are pinned to {f.hide} in {f.when}, but sit together always.",
    "pins_running": lambda f: f"{f.who} {f.are} pinned to {f.hide} in {f.when}: never the same hide twice running.",
    "pins_visits": lambda f: (
        f"{f.who} {f.are} pinned to {f.hide} {times(f.figure('pins'))}; at most "
        f"{count(f.figure('most'), 'visit')} {'is' if f.figure('most') == 1 else 'are'} allowed."
    ),
    "pair_fits_nowhere": lambda f: (
        f"{f.who} sit together always, but in {f.when} no hide that both can use has two seats"
        f"{f' ({f.hide})' if f.item.hides else ''}."
    ),
    "apart_hides": lambda f: (
        f"{f.when}: {f.who} are all kept apart from each other and need {count(f.figure('people'), 'hide')}, "
        f"but {f.figure('hides')} can be open{f.rests}."
    ),
    "visits": lambda f: (
        f"{f.who} {f.have} {count(f.figure('sessions'), 'session')} ({f.when}), but only {f.either} within reach, and "
        f"at most {count(f.figure('most'), 'visit')} in each: {count(f.figure('visits'), 'visit')} in all."
    ),
    "turn": lambda f: f"{f.who} need{'s' if len(f.item.people) == 1 else ''} a turn{f.inside}.",
    "rests": lambda f: f"{count(f.figure('rests'), 'person', 'people')} may rest in {f.when}.",
    "guests_last": lambda f: f"{f.who} is a guest and sits only where nobody who rests could sit.",
    "closed": lambda f: f"{f.hide} {'is' if len(f.item.hides) == 1 else 'are'} not available in {f.when}.",
    "cannot": lambda f: f"{f.who} cannot sit in {f.barred}{f.inside}.",
    "capacity": lambda f: (
        f"{f.hide} has {count(f.figure('seats'), 'seat')}{f.inside}"
        f"{', one of them pinned to the leader' if f.figure('leader') else ''}."
    ),
    "minimum": lambda f: f"{f.hide} opens for {_people(f.figure('minimum'))} or more{f.inside}.",
    "together": lambda f: f"{f.who} sit together always.",
    "helper": lambda f: f"{f.who} sit together: one helps the other.",
    "half_together": lambda f: f"{f.who} sit together in {count(f.figure('wanted'), 'session')} or more.",
    "apart": lambda f: f"{f.who} are kept apart.",
    "pin": lambda f: f"{f.who} {f.are} pinned to {f.hide}{f.inside}.",
    "stay": lambda f: f"{f.who} {'stays' if f.are == 'is' else 'stay'} in {f.hide} through the break after {f.when}.",
    "joined": lambda f: f"{f.hide} has the same people throughout {f.when}.",
    "twice_running": lambda f: f"{f.who} may not sit in {f.either} in two sessions running.",
}

_HELPS: dict[str, Callable[[_Facts], str]] = {
    **rota_limits.REMEDIES,
    "rest": lambda f: (
        f"{number(f.figure('people'))}{' more' if 'further' in dict(f.item.figures) else ''} "
        f"{'rests' if f.figure('people') == 1 else 'rest'} in turn ({f.when})"
    ),
    "share_seat": lambda f: f"two people share a seat in {f.either} ({f.when})",
    "add_seat": lambda f: f"a seat is added in {f.either}",
    "open_hide": lambda f: f"{f.either} is made ready for {f.when}",
    "unpin": lambda f: f"the pin of {f.who} to {f.hide} ({f.when}) is taken off",
    "end_stay": lambda f: f"{f.who} no longer stays in {f.hide} after {f.when}",
    "let_sit_apart": lambda f: f"{f.who} do not have to sit together",
    "less_together": lambda f: f"{f.who} sit together less often",
    "apart_may_meet": lambda f: f"{f.who} may share a hide",
    "lower_minimum": lambda f: f"{f.either} opens for {_people(f.figure('minimum'))}",
    "allow_running": lambda f: "the same hide twice running is allowed",
    "part_sessions": lambda f: f"people may change over in {f.hide} between {f.when}",
    "lift_limit": lambda f: f"{f.who} can sit in {f.either} after all{_least_change(f)}",
}
