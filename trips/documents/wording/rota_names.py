"""Names behind the indices of a rota's problem, and the small words that its sentences share."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from participants.core.isolation import isolated
from trips.core.rota.problem.values import LEADER, Problem

TIMES = {0: "not at all", 1: "once", 2: "twice"}
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
GOOD_KINDS = {
    "early": ("good morning", "good mornings"),
    "midday": ("good midday", "good middays"),
    "late": ("good evening", "good evenings"),
    "night": ("good night", "good nights"),
}
WHOLE_GROUP = "to fit the whole group"


@dataclass(frozen=True)
class RotaNames:
    """Who and what the indices stand for.

    `why_cannot_sit`: why a person cannot sit in a hide, as short phrases; `least`: by person the hide among those
    that asks for the smallest change of a limit; `driving`: (person, hide) that only their driving stands against.
    """

    people: tuple[str, ...]
    sessions: tuple[str, ...]
    hides: tuple[str, ...]
    seats: tuple[tuple[str, ...], ...] = ()
    leader: str = "the leader"
    why_cannot_sit: Mapping[tuple[int, int], tuple[str, ...]] = field(default_factory=dict)
    least: Mapping[int, int] = field(default_factory=dict)
    driving: frozenset[tuple[int, int]] = frozenset()

    def person(self, index: int) -> str:
        """A person's name, or the leader's."""
        return self.leader if index == LEADER else self.people[index]

    def persons(self, indices: Iterable[int]) -> str:
        """All these people by name."""
        return listed(self.person(index) for index in indices)

    def hide_list(self, indices: Iterable[int], last: str = "and") -> str:
        """All these hides by name."""
        return listed((self.hides[index] for index in indices), last)

    def session_list(self, indices: Iterable[int]) -> str:
        """All these sessions by name; every one of them is "every session"."""
        chosen = tuple(indices)
        if len(chosen) > 1 and len(chosen) == len(self.sessions):
            return "every session"
        return listed(self.sessions[index] for index in chosen)


def names_of(problem: Problem, why_cannot_sit: Mapping[tuple[int, int], tuple[str, ...]] | None = None) -> RotaNames:
    """The names that a problem carries itself."""
    return RotaNames(
        tuple(map(isolated, problem.people)),
        tuple(map(isolated, problem.sessions)),
        tuple(isolated(hide.name) for hide in problem.hides),
        tuple(tuple(isolated(seat.name) for seat in hide.seats) for hide in problem.hides),
        why_cannot_sit=why_cannot_sit or {},
    )


def listed(words: Iterable[str], last: str = "and") -> str:
    """ "Ada", "Ada and Ben", "Ada, Ben and Cleo"."""
    shown = list(words)
    if len(shown) > 1:
        return f"{', '.join(shown[:-1])} {last} {shown[-1]}"
    return shown[0] if shown else ""


def number(value: float) -> str:
    """Small whole numbers as words."""
    whole = int(value)
    return NUMBERS[whole] if 0 <= whole < len(NUMBERS) else str(whole)


def times(value: int) -> str:
    """ "once", "twice", "three times"."""
    return TIMES.get(value, f"{number(value)} times")


def starting(sentence: str) -> str:
    """The sentence with a capital at its start."""
    return sentence[:1].upper() + sentence[1:]
