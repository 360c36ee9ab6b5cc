"""Changes of a plan by hand: one person to another seat, two people's places swapped, a stay through the break."""

from dataclasses import dataclass, replace

from participants.core.errors import CoreError
from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault, Seating, seating_of
from trips.core.rota.check.tallies import Tallies, tallies
from trips.core.rota.problem.values import LEADER, NO_SEAT, Plan, Problem, Turn


class NothingToChange(CoreError):
    """An edit that leaves the plan as it is, or names a turn that is not there: `person`, `session`."""


# Several people keep these together: where one has to leave, they stand broken until the others have followed.
KEPT_BY_SEVERAL = frozenset(
    ("together", "helper", "half_together", "joined", "too_few", "open_at_once", "parts", "hand_over_missing")
) | {"one_piece"}


@dataclass(frozen=True, slots=True)
class Effect:
    """What an edit does: the plan after it, the rules it breaks, and the tallies before and after.

    `leader_gave_way`: (session, hide) of the leader's seats that the edit took away. `left`: faults that the edit does
    not answer for: they stood before, or come of leaving such a one step by step.
    """

    plan: Plan
    faults: tuple[Fault, ...]
    before: Tallies
    after: Tallies | None
    leader_gave_way: tuple[tuple[int, int], ...] = ()
    left: tuple[Fault, ...] = ()

    @property
    def is_sound(self) -> bool:
        """Whether the edit may be saved."""
        return not self.faults


def move_person(problem: Problem, plan: Plan, turn: Turn) -> Plan:
    """The plan with `turn.person` there in that session instead of wherever they are; NO_SEAT: the best free seat.

    In a hide where one seat may be handed over, the person shares it when no seat is free.
    """
    rests = tuple(rest for rest in plan.rests if rest != (turn.person, turn.session))
    kept = _kept(plan, _turn_of(plan, turn.person, turn.session), turn)
    return sort_plan(Plan((*_seated(problem, kept, turn),), rests))


def swap_places(plan: Plan, session: int, one: int, other: int) -> Plan:
    """The plan in which two people change places (seats, parts and rests) in a session."""
    places = {person: _turn_of(plan, person, session) for person in (one, other)}
    if places[one] is None and places[other] is None:
        raise NothingToChange(person=one, session=session)
    others = tuple(old for old in plan.turns if old.session != session or old.person not in (one, other))
    exchanged = [
        replace(there, person=person, stays=False)
        for person, there in ((one, places[other]), (other, places[one]))
        if there is not None
    ]
    names = {one: other, other: one}
    rests = tuple((names.get(who, who), when) if when == session else (who, when) for who, when in plan.rests)
    return sort_plan(Plan((*others, *exchanged), rests))


def rest_person(plan: Plan, person: int, session: int) -> Plan:
    """The plan in which a person rests in a session instead of sitting somewhere."""
    turn = _turn_of(plan, person, session)
    if turn is None:
        raise NothingToChange(person=person, session=session)
    kept = _kept(plan, turn, None)
    rests = plan.rests if person == LEADER else (*plan.rests, (person, session))
    return sort_plan(Plan(kept, rests))


def set_stay(plan: Plan, person: int, session: int, stays: bool) -> Plan:
    """The plan in which a person keeps the seat through the break after a session, or no longer does."""
    turn, later = _turn_of(plan, person, session), _turn_of(plan, person, session + 1)
    if turn is None or turn.stays == stays:
        raise NothingToChange(person=person, session=session)
    turns = list(plan.turns)
    turns[turns.index(turn)] = replace(turn, stays=stays)
    if stays and later is not None and later.hide == turn.hide and later.seat != turn.seat:
        for index, there in enumerate(turns):
            if there.session == session + 1 and there.hide == turn.hide and there.seat == turn.seat:
                turns[index] = replace(there, seat=later.seat)
        turns[turns.index(later)] = replace(later, seat=turn.seat)
    return sort_plan(Plan(tuple(turns), plan.rests))


def judge_edit(problem: Problem, before: Plan, after: Plan) -> Effect:
    """Judge an edit; where only the leader's own seat stands against somebody else's, the leader gives way."""
    if sort_plan(before) == after:
        raise NothingToChange(person=None, session=None)
    stood, found = check(problem, before), check(problem, after)
    faults = new_faults(stood.faults, found.faults)
    gave_way: tuple[tuple[int, int], ...] = ()
    without = _drop_leader(seating_of(problem, after), before, after) if faults else None
    if without is not None:
        found_without = check(problem, without)
        if not new_faults(stood.faults, found_without.faults):
            gave_way = tuple((t.session, t.hide) for t in after.turns if t not in without.turns)
            after, faults, found = without, (), found_without
    left = tuple(fault for fault in found.faults if fault not in faults)
    # What stood is counted even where it names a seat that is gone by now: an edit is the way out of that.
    return Effect(after, faults, stood.tallies or tallies(problem, before), found.tallies, gave_way, left)


def new_faults(stood: tuple[Fault, ...], found: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """The faults found that an edit answers for; `stood`: those there before it."""
    return tuple(
        fault
        for fault in found
        if not any(_is_within(fault, old) for old in stood)
        and not (fault.rule in KEPT_BY_SEVERAL and any(_is_near(fault, old) for old in stood))
    )


def drop_absent(problem: Problem, plan: Plan) -> Plan:
    """The plan without the turns and rests of people who are no longer there then, save what is fixed."""
    seating = seating_of(problem, plan)
    for turn in plan.turns:
        if (turn.person, turn.session) in problem.absent and not seating.is_fixed(turn.session, turn.hide):
            here = _turn_of(plan, turn.person, turn.session)
            plan = replace(plan, turns=_kept(plan, here, None))
    rests = tuple(rest for rest in plan.rests if rest not in problem.absent or seating.is_fixed(rest[1]))
    return sort_plan(replace(plan, rests=rests))


def sort_plan(plan: Plan) -> Plan:
    """The same plan with turns and rests in their usual order."""
    turns = sorted(plan.turns, key=lambda turn: (turn.session, turn.hide, turn.seat, turn.part, turn.person))
    return Plan(tuple(turns), tuple(sorted(plan.rests)))


def _drop_leader(seating: Seating, before: Plan, after: Plan) -> Plan | None:
    """The plan without the leader's turns in the sessions that the edit touches; None where only the leader moves."""
    if _people_of(before) == _people_of(after):
        return None
    touched = {turn.session for turn in {*before.turns} ^ {*after.turns}} | {
        s for _, s in {*before.rests} ^ {*after.rests}
    }
    away = [turn for turn in seating.leader_turns() if turn.session in touched]
    if not away:
        return None
    return Plan(tuple(turn for turn in after.turns if turn not in away), after.rests)


def _turn_of(plan: Plan, person: int, session: int) -> Turn | None:
    return next((turn for turn in plan.turns if (turn.person, turn.session) == (person, session)), None)


def _kept(plan: Plan, left: Turn | None, target: Turn | None) -> tuple[Turn, ...]:
    """Everybody else's turns once a person has left a turn for another one, or for a rest (None).

    A part becomes whole when the person who shared the seat leaves it; a stay into the turn that is left ends.
    """
    gone = left or target
    if gone is None:
        return plan.turns
    found = []
    for old in plan.turns:
        if (old.person, old.session) == (gone.person, gone.session):
            continue
        if left and old.part and (old.session, old.hide, old.seat) == (left.session, left.hide, left.seat):
            old = replace(old, part=0)
        before = old.stays and old.person == gone.person and old.session + 1 == gone.session
        if before and (target is None or (target.hide, target.seat) != (old.hide, old.seat)):
            old = replace(old, stays=False)
        found.append(old)
    return tuple(found)


def _seated(problem: Problem, turns: tuple[Turn, ...], turn: Turn) -> tuple[Turn, ...]:
    there = [old for old in turns if (old.session, old.hide) == (turn.session, turn.hide)]
    seats = problem.hides[turn.hide].seats
    in_use = [index for index, value in enumerate(seats) if value.out_from is None or turn.session < value.out_from]
    taken = {old.seat for old in there}
    wanted = turn.seat
    if wanted == NO_SEAT:
        free = [index for index in in_use if index not in taken]
        if free:
            return (*turns, replace(turn, seat=max(free, key=lambda index: (seats[index].quality, -index)), part=0))
        whole = [old for old in there if not old.part and old.person != LEADER]
        leading = [old.seat for old in there if old.person == LEADER]
        wanted = (
            leading[0]
            if leading
            else min((old.seat for old in whole), default=NO_SEAT, key=lambda index: (seats[index].quality, index))
        )
    holder = next((old for old in there if old.seat == wanted and not old.part), None)
    shares = (turn.session, turn.hide) in problem.shared and not any(old.part for old in there)
    if holder is None or not shares or holder.person == LEADER:
        return (*turns, replace(turn, seat=wanted, part=0))
    first = replace(holder, part=1)
    return (*(first if old is holder else old for old in turns), replace(turn, seat=wanted, part=2))


def _people_of(plan: Plan) -> tuple[set[Turn], set[tuple[int, int]]]:
    """The participants' turns and rests."""
    return {turn for turn in plan.turns if turn.person != LEADER}, set(plan.rests)


def _is_within(fault: Fault, old: Fault) -> bool:
    """Whether a fault is an old one, or what is left of it."""
    new_figures, old_figures = dict(fault.figures), dict(old.figures)
    return (
        fault.rule == old.rule
        and {*fault.people} <= {*old.people}
        and {*fault.sessions} <= {*old.sessions}
        and {*fault.hides} <= {*old.hides}
        and new_figures.get("seat") == old_figures.get("seat")
        and new_figures.get("visits", 0) <= old_figures.get("visits", 0)
        and new_figures.get("shared", 0) >= old_figures.get("shared", 0)
    )


def _is_near(fault: Fault, old: Fault) -> bool:
    """Whether a fault is about somebody or some hide of an old one, in a session of it."""
    about = {*fault.people} & {*old.people} or {*fault.hides} & {*old.hides}
    return bool(about) and (not fault.sessions or bool({*fault.sessions} & {*old.sessions}))
