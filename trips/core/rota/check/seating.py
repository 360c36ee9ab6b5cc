"""A plan indexed by person, session and hide, and the faults that the checker tells of it."""

from collections import defaultdict
from dataclasses import dataclass, field

from trips.core.rota.check.visits import Visit, group_visits
from trips.core.rota.problem.values import LEADER, Plan, Problem, Turn


@dataclass(frozen=True, slots=True)
class Fault:
    """One rule that a plan breaks.

    `rule`: a key that the wording knows; `people` (LEADER among them), `sessions`, `hides`: the indices that matter;
    `figures`: names and numbers for the sentence.
    """

    rule: str
    people: tuple[int, ...] = ()
    sessions: tuple[int, ...] = ()
    hides: tuple[int, ...] = ()
    figures: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Seating:
    """The turns by person and session, by session and hide, and the leader's; only known indices are kept."""

    problem: Problem
    plan: Plan
    turns: dict[tuple[int, int], list[Turn]] = field(default_factory=dict)
    groups: dict[tuple[int, int], list[Turn]] = field(default_factory=dict)
    rests: dict[tuple[int, int], int] = field(default_factory=dict)

    def hide_of(self, person: int, session: int) -> int | None:
        """Where that person sits in that session, None without a turn."""
        turns = self.turns.get((person, session))
        return turns[0].hide if turns else None

    def people_in(self, session: int, hide: int) -> tuple[int, ...]:
        """The participants there, in order, without the leader."""
        return tuple(sorted(turn.person for turn in self.groups.get((session, hide), ()) if turn.person != LEADER))

    def visits_by_person(self) -> tuple[tuple[Visit, ...], ...]:
        """Each person's visits; the leader's are left out."""
        turns: list[list[Turn]] = [[] for _ in self.problem.people]
        for (person, _), found in self.turns.items():
            if person != LEADER:
                turns[person] += found
        return tuple(group_visits(self.problem, own) for own in turns)

    def leader_turns(self) -> tuple[Turn, ...]:
        """The leader's turns by session."""
        return tuple(
            turn for session in range(len(self.problem.sessions)) for turn in self.turns.get((LEADER, session), ())
        )

    def is_fixed(self, session: int, hide: int | None = None) -> bool:
        """Whether the past or a car that has left fixes that session (and hide)."""
        if self.problem.issued is None:
            return False
        return session < self.problem.past or (hide is not None and (session, hide) in self.problem.frozen)

    def free_sessions(self) -> range:
        """The sessions that are not over."""
        return range(self.problem.past if self.problem.issued else 0, len(self.problem.sessions))


def seating_of(problem: Problem, plan: Plan) -> Seating:
    """Index a plan's turns and rests; those that name what the problem does not know are left out."""
    turns: dict[tuple[int, int], list[Turn]] = defaultdict(list)
    groups: dict[tuple[int, int], list[Turn]] = defaultdict(list)
    rests: dict[tuple[int, int], int] = defaultdict(int)
    for turn in plan.turns:
        if is_known(problem, turn.person, turn.session, turn.hide):
            turns[turn.person, turn.session].append(turn)
            groups[turn.session, turn.hide].append(turn)
    for person, session in plan.rests:
        if person != LEADER and is_known(problem, person, session, None):
            rests[person, session] += 1
    return Seating(problem, plan, dict(turns), dict(groups), dict(rests))


def is_known(problem: Problem, person: int, session: int, hide: int | None) -> bool:
    """Whether the indices exist in the problem; LEADER counts as a person."""
    return (
        (person == LEADER or 0 <= person < len(problem.people))
        and 0 <= session < len(problem.sessions)
        and (hide is None or 0 <= hide < len(problem.hides))
    )
