"""The hard rules that one person, one hide, one party or one fixed turn decides alone.

`search.preprocess` works them into the options of the planner's space, so that the planner's models need none of them.
The explanation, which must be able to leave each one out, states them in an open space.
"""

from itertools import pairwise

from trips.core.rota.model.rota_model import RotaModel, Rule
from trips.core.rota.model.space import Space
from trips.core.rota.problem.values import LEADER


def open_hides_only(model: RotaModel) -> None:
    """Nobody sits in a hide that is closed then."""
    for (_, session, hide), term in model.terms.items():
        if (session, hide) in model.space.problem.closed:
            model.hold(model.cp.add(term == 0), Rule("closed", (), (session,), (hide,)))


def reach_and_limits(model: RotaModel) -> None:
    """Nobody sits where reach, a limit or a car that they drive forbids it."""
    problem = model.space.problem
    for (person, session, hide), term in model.terms.items():
        if (person, hide) in problem.cannot:
            model.hold(model.cp.add(term == 0), Rule("cannot", (person,), (), (hide,)))
        elif (person, session, hide) in problem.cannot_then:
            model.hold(model.cp.add(term == 0), Rule("cannot", (person,), (session,), (hide,)))


def together_pairs(model: RotaModel) -> None:
    """Pairs who sit together always, and helpers, share a hide or rest both."""
    problem = model.space.problem
    for name, pairs in (("together", problem.together), ("helper", problem.helpers)):
        for one, other in pairs:
            rule = Rule(name, tuple(sorted((one, other))))
            for session in model.free_sessions:
                if {(one, session), (other, session)} <= model.free:
                    for hide in range(model.space.hides):
                        _alike(model, (one, session), (other, session), hide, rule)


def pins_kept(model: RotaModel) -> None:
    """Whoever is pinned sits there, and a hide that the leader is pinned to opens."""
    for pin in model.space.problem.pins:
        if pin.session in model.free_sessions and not model.space.is_fixed(pin.session, pin.hide):
            there = (
                model.opened[pin.session, pin.hide]
                if pin.person == LEADER
                else model.term(pin.person, pin.session, pin.hide)
            )
            rule = Rule("pin", (pin.person,), (pin.session,), (pin.hide,))
            model.hold(model.cp.add(there == 1), rule)


def stays_kept(model: RotaModel) -> None:
    """Who stays through a break sits there before and after; who is sitting there already goes on."""
    space, known = model.space, model.free_sessions
    asked = [(*stay, (0, 1)) for stay in sorted(space.problem.stays) if not space.is_fixed(*stay[1:])]
    begun = [(turn.person, turn.session, turn.hide, (1,)) for turn in space.fixed.staying_on()]
    for person, session, hide, parts in (*asked, *begun):
        when = [session + part for part in parts]
        for then in when if not set(when).isdisjoint(known) else ():
            rule = Rule("stay", (person,), (session,), (hide,))
            if then == space.sessions:  # nothing comes after the last session's break
                model.hold(model.cp.add_bool_or([]), rule)
            elif then in known or space.is_fixed(then, hide):
                model.hold(model.cp.add(model.term(person, then, hide) == 1), rule)


def joined_sessions(model: RotaModel) -> None:
    """An all-day hide has the same people in all its joined sessions; once it has begun, nobody joins them."""
    space = model.space
    for hide, group in space.problem.joined:
        begun = [session for session in sorted(group) if space.is_fixed(session, hide)]
        free = [session for session in sorted(group) if session in model.free_sessions and session not in begun]
        if not free or len(begun) + len(free) < 2:
            continue
        rule = Rule("joined", (), tuple(sorted((*begun, *free))), (hide,))
        for person in range(space.people):
            for first, second in pairwise(free):
                _alike(model, (person, first), (person, second), hide, rule)
            for session in free if begun else ():
                goes_on = _goes_on(space, person, hide, begun, session)
                if goes_on is not None:
                    model.hold(model.cp.add(model.term(person, session, hide) == int(goes_on)), rule)


def _goes_on(space: Space, person: int, hide: int, begun: list[int], session: int) -> bool | None:
    """Whether that person sits there in a joined session after those that have begun; None: either will do."""
    if any(space.fixed.hide_of(person, earlier) != hide for earlier in begun):
        return False
    can = all(space.problem.may_sit(person, then, hide) for then in (begun[0], session))
    return True if can else None


def _alike(model: RotaModel, one: tuple[int, int], other: tuple[int, int], hide: int, rule: Rule) -> None:
    """Both or neither of two (person, session) sit in that hide."""
    first, second = model.term(*one, hide), model.term(*other, hide)
    if not (isinstance(first, int) and isinstance(second, int)):
        model.hold(model.cp.add(first == second), rule)


FOLDED_RULES = (open_hides_only, reach_and_limits, together_pairs, pins_kept, stays_kept, joined_sessions)
