"""The hard rules as a model whose rules can be switched off one by one: finds the few that cannot hold together."""

from typing import Any

from trips.core.rota.explain.conflicts import Reason
from trips.core.rota.explain.switches import RuleModel
from trips.core.rota.explain.trip_rules import TRIP_RULES
from trips.core.rota.problem.presence import fixed_part
from trips.core.rota.problem.values import LEADER, Problem


def build(problem: Problem, sessions: tuple[int, ...], *, all_states: bool) -> RuleModel:
    """Model these sessions. With `all_states` closed hides and barred people are rules too, else facts."""
    from ortools.sat.python import cp_model

    work = RuleModel(problem, fixed_part(problem), sessions, cp_model.CpModel(), all_states=all_states)
    _variables(work)
    for rules in (_turns, _guests, _states, _numbers, _pairs, _pins, _stays, *TRIP_RULES):
        rules(work)
    return work


def _variables(work: RuleModel) -> None:
    problem, model = work.problem, work.model
    for session in work.sessions:
        for hide in range(len(problem.hides)):
            if not problem.hides[hide].seats or work.fixed.is_fixed(session, hide):
                continue
            work.opened[session, hide] = model.new_bool_var("")
            for person in work.to_seat(session):
                if work.all_states or problem.may_sit(person, session, hide):
                    work.sits[person, session, hide] = model.new_bool_var("")
        for person in work.to_seat(session):
            work.resting[person, session] = model.new_bool_var("")


def _turns(work: RuleModel) -> None:
    """Everyone has a turn or a rest; the leader allowed so many rests."""
    problem = work.problem
    for session in work.sessions:
        needing = work.needing(session)
        for person in work.to_seat(session):
            places = [work.in_hide(person, session, hide) for hide in range(len(problem.hides))]
            work.model.add_at_most_one([place for place in places if not isinstance(place, int)])
            if person in needing:
                switch = work.switch(Reason("turn", (person,), (session,)))
                work.model.add(sum(places) + work.resting[person, session] == 1).only_enforce_if(switch)
        if not problem.rests(session):
            for person in needing:
                work.model.add(work.resting[person, session] == 0)
        else:
            resting = sum(work.resting[person, session] for person in needing)
            figures = (("rests", problem.rests(session)),)
            switch = work.switch(Reason("rests", (), (session,), (), figures))
            work.model.add(resting <= problem.rests(session)).only_enforce_if(switch)


def _guests(work: RuleModel) -> None:
    """A guest sits nowhere where somebody who rests may sit."""
    problem = work.problem
    helping = {helper for helper, _ in problem.helpers}
    for guest in sorted(problem.guests - helping):
        switch = work.switch(Reason("guests_last", (guest,)))
        for (person, session, hide), sits in work.sits.items():
            if person != guest:
                continue
            for other in work.needing(session):
                if problem.may_sit(other, session, hide):
                    resting = work.resting[other, session]
                    work.model.add_bool_or(sits.negated(), resting.negated()).only_enforce_if(switch)


def _states(work: RuleModel) -> None:
    """Closed hides and barred people, where they are rules."""
    if not work.all_states:
        return
    problem = work.problem
    barred: dict[tuple[int, int], Any] = {}
    closed: dict[tuple[int, int], Any] = {}
    for (person, session, hide), sits in work.sits.items():
        if (session, hide) in problem.closed:
            if (session, hide) not in closed:
                closed[session, hide] = work.switch(Reason("closed", (), (session,), (hide,)))
            work.model.add(sits == 0).only_enforce_if(closed[session, hide])
        if (person, hide) in problem.cannot:
            if (person, hide) not in barred:
                barred[person, hide] = work.switch(Reason("cannot", (person,), (), (hide,)))
            work.model.add(sits == 0).only_enforce_if(barred[person, hide])
        elif (person, session, hide) in problem.cannot_then:
            switch = work.switch(Reason("cannot", (person,), (session,), (hide,)))
            work.model.add(sits == 0).only_enforce_if(switch)


def _numbers(work: RuleModel) -> None:
    """Seats, minimum and how many hides are open."""
    problem, model = work.problem, work.model
    leader = {(pin.session, pin.hide) for pin in problem.pins if pin.person == LEADER}
    for session in work.sessions:
        for hide in range(len(problem.hides)):
            if (session, hide) not in work.opened:
                continue
            there = [work.in_hide(person, session, hide) for person in work.to_seat(session)]
            pinned = 1 if (session, hide) in leader else 0
            opened, seats = work.opened[session, hide], _seats(problem, session, hide, pinned)
            for sits in there:
                model.add(sits <= opened)
            reason = Reason("capacity", (), (session,), (hide,), (("seats", seats), ("leader", pinned)))
            model.add(sum(there) + pinned <= seats).only_enforce_if(work.switch(reason))
            minimum = problem.hides[hide].minimum_people
            if minimum > 1:
                reason = Reason("minimum", (), (session,), (hide,), (("minimum", minimum),))
                model.add(sum(there) >= minimum * opened).only_enforce_if(work.switch(reason))
            else:
                model.add(sum(there) >= opened)
        most, already = problem.open_hides_at_once, len(work.fixed.opened(session))
        if most is not None and most < len(problem.hides):
            reason = Reason("open_at_once", (), (session,), (), (("most", most),))
            opened_then = sum(work.opened[key] for key in work.opened if key[0] == session)
            model.add(opened_then <= max(0, most - already)).only_enforce_if(work.switch(reason))


def _seats(problem: Problem, session: int, hide: int, leader: int) -> int:
    """Seats in use, also of a hide that is closed then: the closing is a rule of its own.

    A hand-over gives one more place where a seat besides the leader's is there to be handed over.
    """
    seats = sum(1 for seat in problem.hides[hide].seats if seat.out_from is None or session < seat.out_from)
    return seats + (1 if seats > leader and (session, hide) in problem.shared else 0)


def _pairs(work: RuleModel) -> None:
    """Together and apart."""
    problem = work.problem
    pairs = [("together", pair) for pair in problem.together] + [("helper", pair) for pair in problem.helpers]
    for rule, (one, other) in [*pairs, *(("apart", pair) for pair in problem.apart)]:
        both = [session for session in work.sessions if {one, other} <= set(work.to_seat(session))]
        if not both:
            continue
        switch = work.switch(Reason(rule, tuple(sorted((one, other)))))
        for session in both:
            for hide in range(len(problem.hides)):
                first, second = work.in_hide(one, session, hide), work.in_hide(other, session, hide)
                if isinstance(first, int) and isinstance(second, int):
                    continue
                rule_then = first + second <= 1 if rule == "apart" else first == second
                work.model.add(rule_then).only_enforce_if(switch)


def _pins(work: RuleModel) -> None:
    """Pins of those whom no car has taken away."""
    for pin in work.problem.pins:
        if pin.session not in work.sessions or work.fixed.is_fixed(pin.session, pin.hide):
            continue
        switch = work.switch(Reason("pin", (pin.person,), (pin.session,), (pin.hide,)))
        if pin.person == LEADER:
            work.model.add(work.opened.get((pin.session, pin.hide), 0) == 1).only_enforce_if(switch)
        else:
            work.model.add(work.in_hide(pin.person, pin.session, pin.hide) == 1).only_enforce_if(switch)


def _stays(work: RuleModel) -> None:
    """Who stays through a break sits there before and after; who is sitting there already goes on."""
    asked = [(*stay, (0, 1)) for stay in sorted(work.problem.stays) if not work.fixed.is_fixed(*stay[1:])]
    begun = [(turn.person, turn.session, turn.hide, (1,)) for turn in work.fixed.staying_on()]
    for person, session, hide, parts in (*asked, *begun):
        when = [session + part for part in parts]
        if set(when).isdisjoint(work.sessions):
            continue
        switch = work.switch(Reason("stay", (person,), (session,), (hide,)))
        for then in when:
            known = then in work.sessions or work.fixed.is_fixed(then, hide) or then == len(work.problem.sessions)
            if known:
                work.model.add(work.in_hide(person, then, hide) == 1).only_enforce_if(switch)
