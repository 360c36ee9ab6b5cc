"""Who moves between two plans, and which rule would break if that person stayed."""

from dataclasses import dataclass, replace

from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault
from trips.core.rota.check.tallies import changes
from trips.core.rota.problem.values import LEADER, Plan, Problem, Turn


@dataclass(frozen=True, slots=True)
class Move:
    """A person who sits elsewhere (None: rests) in a session, and the faults that staying would make.

    `faults` empty: no rule forces it. `rests_on_apart`: the full reason is for leaders only.
    """

    person: int
    session: int
    old_hide: int | None
    new_hide: int | None
    faults: tuple[Fault, ...]

    @property
    def rests_on_apart(self) -> bool:
        """Whether any of the rules is "apart"."""
        return any(fault.rule == "apart" for fault in self.faults)


def moves(problem: Problem, plan: Plan) -> tuple[Move, ...]:
    """The moves of a plan against the issued rota of its problem, in order of session and person."""
    before = _places(problem.issued) if problem.issued is not None else {}
    after = _places(plan)
    found = []
    for person, session in sorted(changes(problem, plan)[0], key=lambda place: (place[1], place[0])):
        old, new = before.get((person, session)), after.get((person, session))
        kept = _with_old(plan, person, session, old)
        here = tuple(fault for fault in check(problem, kept).faults if _concerns(fault, person, session, old))
        found.append(Move(person, session, old.hide if old else None, new.hide if new else None, _strongest(here)))
    return tuple(found)


def _places(plan: Plan) -> dict[tuple[int, int], Turn]:
    return {(turn.person, turn.session): turn for turn in plan.turns if turn.person != LEADER}


def _with_old(plan: Plan, person: int, session: int, old: Turn | None) -> Plan:
    """The plan with that one person back in the old hide, without a seat: seats are given last."""
    others = tuple(turn for turn in plan.turns if (turn.person, turn.session) != (person, session))
    rests = tuple(rest for rest in plan.rests if rest != (person, session))
    if old is None:
        return Plan(others, tuple(sorted((*rests, (person, session)))))
    return Plan((*others, replace(old, seat=-1, stays=False, part=0)), rests)


def _concerns(fault: Fault, person: int, session: int, old: Turn | None) -> bool:
    if fault.rule.startswith("seat_"):
        return False
    named = person in fault.people or bool(old and old.hide in fault.hides) or not fault.people
    return named and (not fault.sessions or session in fault.sessions)


_ORDER = ("absent", "closed", "cannot", "pin", "left", "past", "too_many", "rests_not_allowed", "hand_over_missing")


def _strongest(faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """What the person cannot help comes first and stands alone; else all rules that staying would break."""
    for rule in ("absent", "closed", "cannot"):
        first = tuple(fault for fault in faults if fault.rule == rule)
        if first:
            return first[:1]
    return tuple(sorted(faults, key=lambda f: (_ORDER.index(f.rule) if f.rule in _ORDER else len(_ORDER), f.rule)))
