"""Why no rota keeps all rules, as data: rules in conflict and the changes that would help."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that takes part in a conflict.

    `rule`: a key that the wording knows. `people`, `sessions`, `hides`: indices of those who matter, nobody else.
    `figures`: names and numbers for the sentence.
    """

    rule: str
    people: tuple[int, ...] = ()
    sessions: tuple[int, ...] = ()
    hides: tuple[int, ...] = ()
    figures: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Help:
    """One change that would help by itself: `change` is a key of the wording, the rest as in Reason."""

    change: str
    people: tuple[int, ...] = ()
    sessions: tuple[int, ...] = ()
    hides: tuple[int, ...] = ()
    figures: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Conflict:
    """Rules that cannot hold together: leave any one of them out and the rest can, where `is_minimal`.

    `found_by`: counting, session, trip. `helps`: each of them resolves this conflict.
    """

    found_by: str
    reasons: tuple[Reason, ...]
    helps: tuple[Help, ...] = ()
    is_minimal: bool = True

    @property
    def rests_on_apart(self) -> bool:
        """Whether only leaders may read it."""
        return any("apart" in reason.rule for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Explanation:
    """`verdict`: impossible (with conflicts), possible (a plan exists), unknown (not settled within the effort)."""

    verdict: str
    conflicts: tuple[Conflict, ...] = ()
