"""The hard rules: one small function each, named after the sentence shown to people.

The planner builds them as they are, without those that `folded_rules` has. The explanation builds all of them with
switches.
"""

from collections.abc import Iterable
from itertools import permutations

from trips.core.rota.model.folded_rules import FOLDED_RULES
from trips.core.rota.model.rota_model import RotaModel, Rule, Term, both_there
from trips.core.rota.model.space import NONE, Cell, Draft, Space, seats_in_use
from trips.core.rota.problem.values import LEADER


def rota_model(
    space: Space, draft: Draft, free: Iterable[Cell], *, whole: bool = True, seats_leader: bool = False
) -> RotaModel:
    """A model of the free cells with every hard rule in it.

    `whole` as in RotaModel; `seats_leader`: the leader's seat is chosen as well, in sessions with free cells.
    """
    model = RotaModel(space, draft, free, whole=whole)
    one_turn_or_rest(model)
    if seats_leader:
        leader_sits_once(model)
    for rule in RULES_OF_MANY:
        rule(model)
    return model


def switched_model(space: Space, draft: Draft, sessions: tuple[int, ...]) -> RotaModel:
    """A model of all that can still be planned in these sessions, with a switch for every rule; `space` is an open one.

    Rules over the whole trip are in it where the sessions are all that can still be planned.
    """
    free = [(p, s) for s in sessions for p in space.problem.present(s) if (p, s) not in space.held]
    whole = len(sessions) == space.sessions - space.first_free
    model = RotaModel(space, draft, free, whole=whole, switched=sessions)
    for rule in (one_turn_or_rest, *RULES_OF_MANY, *FOLDED_RULES):
        rule(model)
    return model


def one_turn_or_rest(model: RotaModel) -> None:
    """Everyone present has one turn, or a rest where that is allowed; parties and joined sessions share variables."""
    space = model.space
    by_key: dict[tuple[int, int, int], Term] = {}
    seen: set[tuple[int, ...]] = set()
    for person, session in sorted(model.free):
        terms = []
        for hide in space.options[person][session]:
            key = space.key(person, session, hide)
            term = by_key.get(key)
            if term is None:
                term = by_key[key] = model.cp.new_bool_var("")
            model.terms[person, session, hide] = term
            terms.append(term)
        row = tuple(term.index for term in terms)
        if model.is_switched:
            model.cp.add_at_most_one(terms)
            if person not in space.problem.guests:
                model.hold(model.cp.add_bool_or(terms), Rule("turn", (person,), (session,)))
        elif row not in seen:
            seen.add(row)
            model.cp.add_exactly_one(terms)


def leader_sits_once(model: RotaModel) -> None:
    """The leader sits in one hide at most, where a car that they drive allows it, and only with participants."""
    space = model.space
    for session in model.free_sessions:
        if session in space.leader_held:
            continue
        for hide in range(space.hides):
            room = space.room[session][hide] > space.least[session][hide] and not space.is_fixed(session, hide)
            if room and space.problem.may_sit(LEADER, session, hide):
                model.leader[session, hide] = model.cp.new_bool_var("")
        model.cp.add_at_most_one([model.leader[session, h] for h in range(space.hides) if (session, h) in model.leader])


def no_more_than_seats_no_fewer_than_minimum(model: RotaModel) -> None:
    """An open hide holds its minimum of participants and no more people than seats, the leader counted."""
    space = model.space
    for session in model.free_sessions:
        for hide in range(space.hides):
            certain, terms = model.there(session, hide)
            if space.is_fixed(session, hide) or not (certain or terms):
                model.opened[session, hide] = int(certain > 0)
                if (session, hide) in model.leader and not space.is_fixed(session, hide):
                    model.cp.add(model.leader[session, hide] == 0)  # the leader opens no hide
                continue
            opened = _opened(model, session, hide, certain)
            room = space.room[session][hide] - certain
            people = model.expr.sum([*terms, *_leader(model, session, hide)])
            if (session, hide) in space.problem.shared:
                people = people - _hand_over(model, session, hide)
                room -= 1
            if model.is_switched:  # whoever sits there opens the hide, be the seats enough or not
                for term in terms:
                    model.cp.add_implication(term, opened)
            within = people <= room if isinstance(opened, int) else people <= room * opened
            model.hold(model.cp.add(within), _seats_rule(space, session, hide))
            if certain < space.least[session][hide]:
                filled = model.cp.add(model.expr.sum(terms) >= (space.least[session][hide] - certain) * opened)
                if space.least[session][hide] > 1:  # one participant is what being open means, no rule of its own
                    figures = (("minimum", space.least[session][hide]),)
                    model.hold(filled, Rule("minimum", (), (session,), (hide,), figures))


def _seats_rule(space: Space, session: int, hide: int) -> Rule:
    """What there is to tell: a hand-over gives a place more where a seat besides the leader's can be handed over."""
    leader = int(space.leader_held.get(session) == hide)
    seats = len(seats_in_use(space.problem, session, hide))
    seats += seats > leader and (session, hide) in space.problem.shared
    return Rule("capacity", (), (session,), (hide,), (("seats", seats), ("leader", leader)))


def _opened(model: RotaModel, session: int, hide: int, certain: int) -> Term:
    open_already = certain > 0 or (session, hide) in model.space.must_open
    opened = 1 if open_already else model.cp.new_bool_var("")
    model.opened[session, hide] = opened
    return opened


def _leader(model: RotaModel, session: int, hide: int) -> list[Term]:
    """The leader's seat there: a variable, a seat the draft gives away, or nothing (a held seat is no room at all)."""
    if (session, hide) in model.leader:
        return [model.leader[session, hide]]
    chosen = model.draft.leader[session] == hide and session not in model.space.leader_held
    return [1] if chosen and not any(when == session for when, _ in model.leader) else []


def _hand_over(model: RotaModel, session: int, hide: int) -> Term:
    """1 when two people share a seat; `halves` says who."""
    handed = model.cp.new_bool_var("")
    halves = []
    for person in range(model.space.people):
        term = model.term(person, session, hide)
        if isinstance(term, int) and not term:
            continue
        half = model.halves[person, session, hide] = model.cp.new_bool_var("")
        model.cp.add(half <= term)
        halves.append(half)
    model.cp.add(model.expr.sum(halves) == 2 * handed)
    return handed


def no_more_hides_open_than_the_rule_allows(model: RotaModel) -> None:
    """No more hides open at once than the rule allows; and, to help the search, seats enough for all who sit."""
    space = model.space
    for session in model.free_sessions:
        opened = [model.opened[session, hide] for hide in range(space.hides)]
        if space.open_limit[session] < space.hides:
            figures = (("most", space.problem.open_hides_at_once or 0),)
            within = model.cp.add(model.expr.sum(opened) <= space.open_limit[session])
            model.hold(within, Rule("open_at_once", (), (session,), (), figures))
        must_sit = [p for p in range(space.people) if (p, session) in model.free]
        if not model.is_switched and all(NONE not in space.options[p][session] for p in must_sit):
            free = [h for h in range(space.hides) if not space.is_fixed(session, h)]
            certain = sum(model.there(session, hide)[0] for hide in free)
            seats = [space.room[session][h] * model.opened[session, h] for h in free]
            model.cp.add(model.expr.sum(seats) >= certain + len(must_sit))


def rests_are_allowed(model: RotaModel) -> None:
    """No more people rest than the leader allowed; guests without a seat do not rest."""
    space = model.space
    for session in model.free_sessions:
        resting = [model.term(p, session, NONE) for p in range(space.people) if p not in space.problem.guests]
        if any(not isinstance(term, int) for term in resting):
            most = space.problem.rests(session)
            rule = Rule("rests", (), (session,), (), (("rests", most),))
            model.hold(model.cp.add(model.expr.sum(resting) <= most), rule)


def guests_only_in_spare_seats(model: RotaModel) -> None:
    """No guest sits where somebody who rests may sit, unless the guest is somebody's helper."""
    space, problem = model.space, model.space.problem
    helping = {helper for helper, _ in problem.helpers}
    for guest in sorted(problem.guests - helping):
        for session in model.free_sessions:
            for hide in range(space.hides):
                sits = model.term(guest, session, hide)
                if space.is_fixed(session, hide) or (isinstance(sits, int) and not sits):
                    continue
                for person in range(space.people):
                    rests = model.term(person, session, NONE)
                    counts = person not in problem.guests and not (isinstance(rests, int) and not rests)
                    if counts and problem.may_sit(person, session, hide):
                        _not_both(model, sits, rests, Rule("guests_last", (guest,)))


def _not_both(model: RotaModel, one: Term, other: Term, rule: Rule) -> None:
    if isinstance(one, int) and isinstance(other, int):
        if one and other:
            model.hold(model.cp.add_bool_or([]), rule)
    elif not (isinstance(one, int) and not one) and not (isinstance(other, int) and not other):
        model.hold(model.cp.add(one + other <= 1), rule)


def apart_never_meet(model: RotaModel) -> None:
    """Pairs kept apart never share a hide."""
    space = model.space
    for one, other in space.problem.apart:
        rule = Rule("apart", tuple(sorted((one, other))))
        for session in model.free_sessions:
            for hide in range(space.hides):
                if not space.is_fixed(session, hide):
                    _not_both(model, model.term(one, session, hide), model.term(other, session, hide), rule)


def one_piece_at_one_hide(model: RotaModel) -> None:
    """Two people who share a piece of gear in a session never sit in different hides then."""
    space = model.space
    for one, other, session in sorted(space.problem.sharers):
        if session not in model.free_sessions or not space.held.isdisjoint({(one, session), (other, session)}):
            continue
        for hide, elsewhere in permutations(range(space.hides), 2):
            first, second = model.term(one, session, hide), model.term(other, session, elsewhere)
            _not_both(model, first, second, Rule("one_piece", (one, other), (session,)))


def visits_at_most(model: RotaModel) -> None:
    """Nobody visits a hide more often than the rule allows."""
    space = model.space
    for person in model.free_people:
        for hide in range(space.hides):
            visits, most = model.visits(person, hide), space.visits_limit[person][hide]
            if len(visits) > most:
                figures = (("most", space.problem.visits_at_most or 0),)
                rule = Rule("visits_at_most", (person,), (), (hide,), figures)
                model.hold(model.cp.add(model.expr.sum(visits) <= most), rule)


def never_twice_running(model: RotaModel) -> None:
    """Nobody sits in one hide in two sessions running, but within one visit."""
    space = model.space
    if not space.problem.never_twice_running:
        return
    for person in model.free_people:
        for session in range(space.sessions - 1):
            for hide in range(space.hides):
                one_visit = space.visit(person, session, hide) == space.visit(person, session + 1, hide)
                fixed = space.is_fixed(session, hide) and space.is_fixed(session + 1, hide)
                if not one_visit and not fixed:
                    now, then = model.term(person, session, hide), model.term(person, session + 1, hide)
                    _not_both(model, now, then, Rule("twice_running", (person,), (), (hide,)))


def consecutive_turns_at_most(model: RotaModel) -> None:
    """Nobody has a turn in more sessions in a row than the rule allows; what is fixed counts, but may be more."""
    space, most = model.space, model.space.problem.consecutive_turns_at_most
    if most is None:
        return
    for person in model.free_people:
        for first in range(space.sessions - most):
            row = [_turns_in(model, person, session) for session in range(first, first + most + 1)]
            turns = [term for terms in row for term in terms]
            if all(row) and not all(isinstance(term, int) for term in turns):
                within = model.cp.add(model.expr.sum(turns) <= most)
                model.hold(within, Rule("consecutive_turns", figures=(("most", most),)))


def _turns_in(model: RotaModel, person: int, session: int) -> list[Term]:
    """A term for each turn that person has or may have then; none where a rest or an absence is certain."""
    terms = [model.term(person, session, hide) for hide in range(model.space.hides)]
    return [term for term in terms if not (isinstance(term, int) and not term)]


def half_together(model: RotaModel) -> None:
    """Pairs who want half their time together share a hide in half of their common sessions, rounded down.

    What a repair cannot change counts, but is not made up for: no more than half of the sessions left are asked for.
    """
    space, absent = model.space, model.space.problem.absent
    for one, other in space.problem.half_together if model.whole else ():
        common = [s for s in range(space.sessions) if (one, s) not in absent and (other, s) not in absent]
        shared = {s: [both_there(model, one, other, s, hide) for hide in range(space.hides)] for s in common}
        held = [session for session in common if not space.held.isdisjoint({(one, session), (other, session)})]
        met = sum(sum(shared[session]) for session in held)
        wanted = min(len(common) // 2, met + (len(common) - len(held)) // 2)
        enough = model.cp.add(model.expr.sum([term for terms in shared.values() for term in terms]) >= wanted)
        model.hold(enough, Rule("half_together", tuple(sorted((one, other))), (), (), (("wanted", wanted),)))


RULES_OF_MANY = (
    no_more_than_seats_no_fewer_than_minimum,
    no_more_hides_open_than_the_rule_allows,
    rests_are_allowed,
    guests_only_in_spare_seats,
    apart_never_meet,
    one_piece_at_one_hide,
    visits_at_most,
    never_twice_running,
    consecutive_turns_at_most,
    half_together,
)
