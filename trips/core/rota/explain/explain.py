"""Why no rota keeps all rules: counting first, then one session, then the trip; and the smallest changes that help.

Counting comes first because people against seats is the pigeonhole problem, which a search for conflicts never ends on.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from trips.core.rota.explain.conflict_search import Core, Effort, build, find_core, solve
from trips.core.rota.explain.conflicts import Conflict, Explanation, Reason
from trips.core.rota.explain.counting import count_conflicts
from trips.core.rota.explain.helps import helps_for
from trips.core.rota.problem.presence import open_sessions
from trips.core.rota.problem.values import Problem

DEFAULT_EFFORT = 2.0  # units of deterministic time for the trip; a session has a quarter
MOST_CONFLICTS = 5  # mending those usually mends the rest, and nobody reads more at once
BUILDING_EFFORT = 2e-5  # what building a model costs for each seat of a person in a session


def explain(
    problem: Problem, *, effort: float = DEFAULT_EFFORT, is_cancelled: Callable[[], bool] = lambda: False
) -> Explanation:
    """Settle whether a rota can keep all rules and, if none can, name the rules in conflict and what would help."""
    counted = count_conflicts(problem)
    if counted:
        conflicts = tuple(Conflict("counting", (reason,)) for reason in counted[:MOST_CONFLICTS])
        return Explanation("impossible", tuple(_with_helps(problem, conflict, effort) for conflict in conflicts))
    in_sessions = _session_conflicts(problem, effort, is_cancelled)
    if in_sessions:
        return Explanation("impossible", tuple(_with_helps(problem, conflict, effort) for conflict in in_sessions))
    if is_cancelled():
        return Explanation("unknown")
    core = find_core(build(problem, tuple(open_sessions(problem)), all_states=False), Effort(effort))
    if core is True:
        return Explanation("possible")
    if not isinstance(core, Core):
        return Explanation("unknown")
    conflict = Conflict("trip", _merged(core.reasons), is_minimal=core.is_minimal)
    return Explanation("impossible", (_with_helps(problem, conflict, effort),))


def _session_conflicts(problem: Problem, effort: float, is_cancelled: Callable[[], bool]) -> tuple[Conflict, ...]:
    """Conflicts within one session; the same one in several sessions is named once."""
    found: list[tuple[tuple[Reason, ...], Conflict]] = []
    for session in open_sessions(problem):
        if is_cancelled() or len(found) >= MOST_CONFLICTS:
            break
        work = build(problem, (session,), all_states=True)
        left = Effort(effort / 4)  # a session alone is small beside the trip
        for index, (rules, conflict) in enumerate(found):
            again = [place for place, (_, reason) in enumerate(work.switches) if replace(reason, sessions=()) in rules]
            if len(again) == len(rules) and isinstance(solve(work, again, left), list):
                reasons = _merged(tuple(work.switches[place][1] for place in again))
                found[index] = (rules, replace(conflict, reasons=_joined(conflict.reasons, reasons)))
                break
        else:
            core = find_core(work, left)
            if isinstance(core, Core):
                rules = tuple(replace(reason, sessions=()) for reason in core.reasons)
                found.append((rules, Conflict("session", _merged(core.reasons), is_minimal=core.is_minimal)))
    return tuple(conflict for _, conflict in found)


def _joined(known: tuple[Reason, ...], more: tuple[Reason, ...]) -> tuple[Reason, ...]:
    return tuple(
        replace(one, sessions=tuple(sorted({*one.sessions, *other.sessions})))
        for one, other in zip(known, more, strict=True)
    )


def _merged(reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """Reasons of one rule that differ in a single thing become one."""
    groups: dict[tuple[object, ...], Reason] = {}
    for reason in reasons:
        per_person = reason.rule in ("turn", "visits_at_most", "twice_running", "cannot")
        key = (reason.rule, reason.people if per_person else reason.people + reason.hides, reason.figures)
        known = groups.get(key)
        if known is None:
            groups[key] = reason
            continue
        groups[key] = replace(
            known,
            sessions=tuple(sorted({*known.sessions, *reason.sessions})),
            hides=tuple(sorted({*known.hides, *reason.hides})),
        )
    turns: dict[tuple[int, ...], Reason] = {}
    others = []
    for reason in groups.values():
        if reason.rule != "turn":
            others.append(reason)
            continue
        known = turns.get(reason.sessions)
        turns[reason.sessions] = reason if known is None else replace(known, people=(*known.people, *reason.people))
    return tuple(turns.values()) + tuple(others)


@dataclass(frozen=True, slots=True)
class _Resolver:
    """Whether a changed problem is free of the conflict: by counting, then in its sessions or over the trip."""

    before: frozenset[Reason]
    conflict: Conflict
    effort: Effort

    def __call__(self, changed: Problem) -> bool:
        after = count_conflicts(changed)
        if any(_is_alike(reason, own) for reason in after for own in self.conflict.reasons):
            return False
        if any(not any(_is_alike(reason, known) for known in self.before) for reason in after):
            return False
        if after:  # another conflict is left: this one is gone, which is all that can be told
            return True
        named = {session for reason in self.conflict.reasons for session in reason.sessions}
        sessions = named & set(open_sessions(changed))
        if self.conflict.found_by == "trip" or not sessions:
            scope: list[tuple[int, ...]] = [tuple(open_sessions(changed))]
        else:
            scope = [(session,) for session in sorted(sessions)]
        return all(self._can_hold(changed, part) for part in scope)

    def _can_hold(self, changed: Problem, sessions: tuple[int, ...]) -> bool:
        work = build(changed, sessions, all_states=False)
        self.effort.left -= work.size * BUILDING_EFFORT
        return solve(work, range(len(work.switches)), self.effort) is True


def _is_alike(one: Reason, other: Reason) -> bool:
    """Whether two counted reasons are the same shortage, be its numbers different."""
    same_people = one.people == other.people or not set(one.people).isdisjoint(other.people)
    return one.rule == other.rule and same_people and not set(one.sessions).isdisjoint(other.sessions)


def _with_helps(problem: Problem, conflict: Conflict, effort: float) -> Conflict:
    resolves = _Resolver(frozenset(count_conflicts(problem)), conflict, Effort(effort))
    return replace(conflict, helps=helps_for(problem, conflict, resolves))
