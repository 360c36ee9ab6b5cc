"""Who moves between two plans, and which rule would break if that person stayed."""

from dataclasses import dataclass, replace

from trips.core.rota.check.checker import check
from trips.core.rota.check.seating import Fault
from trips.core.rota.check.tallies import changes_from_issued, turns_by_place
from trips.core.rota.problem.values import NO_SEAT, Plan, Problem, Turn

# What the person cannot help: one such reason is enough, and the others would only distract from it.
BEYOND_CHOICE = ("absent", "closed", "cannot")
ORDER = (*BEYOND_CHOICE, "pin", "left", "past", "too_many", "rests_not_allowed", "hand_over_missing")


@dataclass(frozen=True, slots=True)
class RepairMove:
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


def repair_moves(problem: Problem, plan: Plan) -> tuple[RepairMove, ...]:
    """The moves of a plan against the issued rota of its problem, in order of session and person."""
    before = turns_by_place(problem.issued) if problem.issued is not None else {}
    after = turns_by_place(plan)
    moved, _ = changes_from_issued(problem, plan, with_guests=True)
    found = []
    for person, session in sorted(moved, key=lambda place: (place[1], place[0])):
        old, new = before.get((person, session)), after.get((person, session))
        kept = _with_old(plan, person, session, old)
        here = tuple(fault for fault in check(problem, kept).faults if _concerns(fault, person, session, old))
        found.append(
            RepairMove(person, session, old.hide if old else None, new.hide if new else None, _strongest(here))
        )
    return tuple(found)


def _with_old(plan: Plan, person: int, session: int, old: Turn | None) -> Plan:
    """The plan with that one person back in the old hide, without a seat: seats are given last."""
    others = tuple(turn for turn in plan.turns if (turn.person, turn.session) != (person, session))
    rests = tuple(rest for rest in plan.rests if rest != (person, session))
    if old is None:
        return Plan(others, tuple(sorted((*rests, (person, session)))))
    return Plan((*others, replace(old, seat=NO_SEAT, stays=False, part=0)), rests)


def _concerns(fault: Fault, person: int, session: int, old: Turn | None) -> bool:
    if fault.rule.startswith("seat_"):
        return False
    named = person in fault.people or bool(old and old.hide in fault.hides) or not fault.people
    return named and (not fault.sessions or session in fault.sessions)


def _strongest(faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """What the person cannot help comes first and stands alone; else all rules that staying would break."""
    for rule in BEYOND_CHOICE:
        first = tuple(fault for fault in faults if fault.rule == rule)
        if first:
            return first[:1]
    return tuple(sorted(faults, key=lambda f: (ORDER.index(f.rule) if f.rule in ORDER else len(ORDER), f.rule)))
