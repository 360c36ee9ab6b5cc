"""The hard rules as a model whose rules can be switched off one by one: finds the few that cannot hold together."""

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from trips.core.rotation.conflicts import Reason
from trips.core.rotation.problem import LEADER, Problem
from trips.core.rotation.reasons_counting import needing_turns, open_sessions

Key = tuple[int, int, int]


@dataclass(slots=True)
class RuleModel:
    """A model of some sessions. `switches`: the literal of each rule that may be left out, with its reason."""

    problem: Problem
    sessions: tuple[int, ...]
    model: Any
    sits: dict[Key, Any] = field(default_factory=dict)
    opened: dict[tuple[int, int], Any] = field(default_factory=dict)
    resting: dict[tuple[int, int], Any] = field(default_factory=dict)
    switches: list[tuple[Any, Reason]] = field(default_factory=list)
    all_states: bool = True

    def switch(self, reason: Reason) -> Any:
        """A new literal that holds exactly when that rule does."""
        literal = self.model.new_bool_var("")
        self.switches.append((literal, reason))
        return literal

    def in_hide(self, person: int, session: int, hide: int) -> Any:
        """The variable of a seat, 0 where there is none."""
        return self.sits.get((person, session, hide), 0)


def build(problem: Problem, sessions: tuple[int, ...], *, all_states: bool) -> RuleModel:
    """Model these sessions. With `all_states` closed hides and barred people are rules too, else facts."""
    from ortools.sat.python import cp_model

    work = RuleModel(problem, sessions, cp_model.CpModel(), all_states=all_states)
    _variables(work)
    for rules in (_turns, _guests, _states, _numbers, _pairs, _pins, _joined, _visits, _running, _halves):
        rules(work)
    return work


def _variables(work: RuleModel) -> None:
    problem, model = work.problem, work.model
    for session in work.sessions:
        for hide in range(len(problem.hides)):
            if not problem.hides[hide].seats:
                continue
            work.opened[session, hide] = model.new_bool_var("")
            for person in problem.present(session):
                if work.all_states or problem.may_sit(person, session, hide):
                    work.sits[person, session, hide] = model.new_bool_var("")
        for person in problem.present(session):
            work.resting[person, session] = model.new_bool_var("")


def _turns(work: RuleModel) -> None:
    """Everyone has a turn or a rest; the leader allowed so many rests."""
    problem = work.problem
    for session in work.sessions:
        needing = needing_turns(problem, session)
        for person in problem.present(session):
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
            for other in needing_turns(problem, session):
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
            there = [work.in_hide(person, session, hide) for person in problem.present(session)]
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
        most = problem.open_hides_at_once
        if most is not None and most < len(problem.hides):
            reason = Reason("open_at_once", (), (session,), (), (("most", most),))
            opened_then = sum(work.opened[key] for key in work.opened if key[0] == session)
            model.add(opened_then <= most).only_enforce_if(work.switch(reason))


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
        both = [s for s in work.sessions if {(one, s), (other, s)}.isdisjoint(problem.absent)]
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
    """Pins, stays, and cars that have left."""
    problem = work.problem
    for pin in problem.pins:
        if pin.session not in work.sessions:
            continue
        switch = work.switch(Reason("pin", (pin.person,), (pin.session,), (pin.hide,)))
        if pin.person == LEADER:
            work.model.add(work.opened.get((pin.session, pin.hide), 0) == 1).only_enforce_if(switch)
        else:
            work.model.add(work.in_hide(pin.person, pin.session, pin.hide) == 1).only_enforce_if(switch)
    for person, session, hide in sorted(problem.stays):
        if session in work.sessions:
            switch = work.switch(Reason("stay", (person,), (session,), (hide,)))
            for when in {session, session + 1} & set(work.sessions):
                work.model.add(work.in_hide(person, when, hide) == 1).only_enforce_if(switch)
    issued = problem.issued.turns if problem.issued is not None else ()
    for session, hide in sorted(problem.frozen):
        if session not in work.sessions:
            continue
        there = {turn.person for turn in issued if (turn.session, turn.hide) == (session, hide)}
        for person in problem.present(session):
            work.model.add(work.in_hide(person, session, hide) == (1 if person in there else 0))


def _joined(work: RuleModel) -> None:
    """The same people throughout the joined sessions of an all-day hide."""
    for hide, sessions in work.problem.joined:
        modelled = [session for session in sessions if session in work.sessions]
        if len(modelled) < 2:
            continue
        switch = work.switch(Reason("joined", (), tuple(modelled), (hide,)))
        for first, second in pairwise(modelled):
            for person in range(len(work.problem.people)):
                one, other = work.in_hide(person, first, hide), work.in_hide(person, second, hide)
                if not (isinstance(one, int) and isinstance(other, int)):
                    work.model.add(one == other).only_enforce_if(switch)


def _linked(problem: Problem, person: int, first: int, second: int, hide: int) -> bool:
    """Whether the two sessions are one visit."""
    stay = second == first + 1 and (person, first, hide) in problem.stays
    return stay or any(where == hide and {first, second} <= set(when) for where, when in problem.joined)


def _visits(work: RuleModel) -> None:
    """No more visits than allowed; the past counts."""
    problem, most = work.problem, work.problem.visits_at_most
    if most is None or len(work.sessions) < 2:
        return
    done = _past_visits(problem)
    for person in range(len(problem.people)):
        for hide in range(len(problem.hides)):
            turns: list[Any] = []
            for session in work.sessions:
                earlier = [s for s in work.sessions if s < session and _linked(problem, person, s, session, hide)]
                sits = work.in_hide(person, session, hide)
                if not earlier and not isinstance(sits, int):
                    turns.append(sits)
            allowed = max(0, most - done.get((person, hide), 0))
            if len(turns) > allowed:
                switch = work.switch(Reason("visits_at_most", (person,), (), (hide,), (("most", most),)))
                work.model.add(sum(turns) <= allowed).only_enforce_if(switch)


def _past_visits(problem: Problem) -> dict[tuple[int, int], int]:
    done: dict[tuple[int, int], int] = {}
    for turn in problem.issued.turns if problem.issued is not None else ():
        if turn.session < problem.past:
            done[turn.person, turn.hide] = done.get((turn.person, turn.hide), 0) + 1
    return done


def _running(work: RuleModel) -> None:
    """Nobody in the same hide in two sessions running."""
    problem = work.problem
    if not problem.never_twice_running:
        return
    for person in range(len(problem.people)):
        for hide in range(len(problem.hides)):
            pairs = []
            for first in work.sessions:
                one, other = work.in_hide(person, first, hide), work.in_hide(person, first + 1, hide)
                free = not isinstance(one, int) and not isinstance(other, int)
                if free and not _linked(problem, person, first, first + 1, hide):
                    pairs.append((one, other))
            if pairs:
                switch = work.switch(Reason("twice_running", (person,), (), (hide,)))
                for one, other in pairs:
                    work.model.add(one + other <= 1).only_enforce_if(switch)


def _halves(work: RuleModel) -> None:
    """Pairs who sit together half the time."""
    problem = work.problem
    if len(work.sessions) < len(open_sessions(problem)) or problem.past:
        return
    for one, other in problem.half_together:
        both = [s for s in work.sessions if {(one, s), (other, s)}.isdisjoint(problem.absent)]
        met = []
        for session in both:
            for hide in range(len(problem.hides)):
                first, second = work.in_hide(one, session, hide), work.in_hide(other, session, hide)
                if not isinstance(first, int) and not isinstance(second, int):
                    meets = work.model.new_bool_var("")
                    work.model.add_implication(meets, first)
                    work.model.add_implication(meets, second)
                    met.append(meets)
        switch = work.switch(
            Reason("half_together", tuple(sorted((one, other))), (), (), (("wanted", len(both) // 2),))
        )
        work.model.add(sum(met) >= len(both) // 2).only_enforce_if(switch)
