"""The hard rules that tie sessions to each other, each with its switch; what is fixed in a repair counts in them."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.explain.switches import RuleModel
from trips.core.rota.problem.presence import open_sessions


def _joined(work: RuleModel) -> None:
    """The same people throughout the joined sessions of an all-day hide."""
    for hide, sessions in work.problem.joined:
        begun = [session for session in sorted(sessions) if work.fixed.is_fixed(session, hide)]
        free = [session for session in sorted(sessions) if session in work.sessions and session not in begun]
        if not free or len(begun) + len(free) < 2:
            continue
        switch = work.switch(Reason("joined", (), tuple(sorted((*begun, *free))), (hide,)))
        for person in range(len(work.problem.people)):
            for first, second in pairwise(free):
                one, other = work.in_hide(person, first, hide), work.in_hide(person, second, hide)
                if not (isinstance(one, int) and isinstance(other, int)):
                    work.model.add(one == other).only_enforce_if(switch)
            for session in free if begun else ():
                goes_on = _goes_on(work, person, hide, begun, session)
                if goes_on is not None:
                    work.model.add(work.in_hide(person, session, hide) == int(goes_on)).only_enforce_if(switch)


def _goes_on(work: RuleModel, person: int, hide: int, begun: list[int], session: int) -> bool | None:
    """Whether that person sits there in a joined session after those that have begun; None: either will do."""
    if any(work.fixed.hide_of(person, earlier) != hide for earlier in begun):
        return False
    can = all(work.problem.may_sit(person, then, hide) for then in (begun[0], session))
    return True if can else None


def _visit_firsts(work: RuleModel, person: int, hide: int) -> list[int]:
    """Session by session the first one of the visit that a turn of that person there belongs to."""
    firsts = list(range(len(work.problem.sessions)))
    if not work.stays and not work.problem.joined:
        return firsts
    for first, second in pairwise(firsts[:]):
        if (person, first, hide) in work.stays:
            firsts[second] = firsts[first]
    for group in (sorted(sessions) for where, sessions in work.problem.joined if where == hide):
        roots = {firsts[session] for session in group}
        firsts = [min(roots) if first in roots else first for first in firsts]
    return firsts


def _visits(work: RuleModel) -> None:
    """No more visits than allowed; what is fixed counts, but may be more."""
    problem, most = work.problem, work.problem.visits_at_most
    if most is None:
        return
    when = sorted({*work.sessions, *(session for _, session in work.fixed.turns)})
    for person in range(len(problem.people)) if len(when) > most else ():
        for hide in range(len(problem.hides)):
            firsts = _visit_firsts(work, person, hide)
            visits: dict[int, Any] = {}
            for session in when:
                sits = work.in_hide(person, session, hide)
                if not isinstance(sits, int):
                    visits.setdefault(firsts[session], sits)
                elif sits:
                    visits[firsts[session]] = 1
            further = [visit for visit in visits.values() if not isinstance(visit, int)]
            allowed = max(0, most - (len(visits) - len(further)))
            if len(further) > allowed:
                switch = work.switch(Reason("visits_at_most", (person,), (), (hide,), (("most", most),)))
                work.model.add(sum(further) <= allowed).only_enforce_if(switch)


def _running(work: RuleModel) -> None:
    """Nobody in the same hide in two sessions running."""
    problem = work.problem
    if not problem.never_twice_running:
        return
    near = sorted({first for s in work.sessions for first in (s - 1, s) if 0 <= first < len(problem.sessions) - 1})
    for person in range(len(problem.people)):
        for hide in range(len(problem.hides)):
            firsts, pairs = _visit_firsts(work, person, hide), []
            for first in near:
                one, other = work.in_hide(person, first, hide), work.in_hide(person, first + 1, hide)
                settled = isinstance(one, int) and isinstance(other, int)
                if not settled and firsts[first] != firsts[first + 1]:
                    pairs.append((one, other))
            if pairs:
                switch = work.switch(Reason("twice_running", (person,), (), (hide,)))
                for one, other in pairs:
                    work.model.add(one + other <= 1).only_enforce_if(switch)


def _halves(work: RuleModel) -> None:
    """Pairs who sit together half the time."""
    problem, fixed = work.problem, work.fixed
    if len(work.sessions) < len(open_sessions(problem)):
        return
    for one, other in problem.half_together:
        both = [s for s in range(len(problem.sessions)) if {(one, s), (other, s)}.isdisjoint(problem.absent)]
        free = [s for s in both if s in work.sessions and {(one, s), (other, s)}.isdisjoint(fixed.turns)]
        places = [(fixed.hide_of(one, session), fixed.hide_of(other, session)) for session in both]
        met = sum(first == second for first, second in places if first is not None)
        wanted = min(len(both) // 2, met + len(free) // 2)
        if wanted <= met:
            continue
        pair = tuple(sorted((one, other)))
        switch = work.switch(Reason("half_together", pair, (), (), (("wanted", wanted),)))
        further = [meets for session in free for meets in _meetings(work, one, other, session)]
        work.model.add(sum(further) >= wanted - met).only_enforce_if(switch)


def _meetings(work: RuleModel, one: int, other: int, session: int) -> list[Any]:
    """A variable for each hide in which both may sit then: 1 only when both do."""
    found = []
    for hide in range(len(work.problem.hides)):
        first, second = work.in_hide(one, session, hide), work.in_hide(other, session, hide)
        if not isinstance(first, int) and not isinstance(second, int):
            meets = work.model.new_bool_var("")
            work.model.add_implication(meets, first)
            work.model.add_implication(meets, second)
            found.append(meets)
    return found


TRIP_RULES: tuple[Callable[[RuleModel], None], ...] = (_joined, _visits, _running, _halves)
