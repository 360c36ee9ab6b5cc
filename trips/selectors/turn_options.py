"""Every hide that a person could have had in a session: what it is worth to them, who moves, what the group loses."""

from collections.abc import Iterator
from dataclasses import dataclass

from trips.assemble.rota import RotaInputs
from trips.assemble.rota_result import stored_rota
from trips.assemble.why_cannot_sit import trip_names
from trips.core.rota.check.seating import Fault
from trips.core.rota.edit import hand_edits as edits
from trips.core.rota.edit.hand_edits import Effect
from trips.core.rota.explain.promises import told_share
from trips.core.rota.problem.points import TurnFactors
from trips.core.rota.problem.values import LEADER, NO_SEAT, Plan, Turn
from trips.documents.wording.rota_faults import fault_sentence
from trips.documents.wording.rota_names import RotaNames
from trips.models import Place, Rota, Session


@dataclass(frozen=True)
class TurnOption:
    """One hide. `factors`: what it is worth to the person, points of 100.

    `moves`: who would have to move; `loses`: what the group's shares lose; `against`: the rule that forbids it, empty
    where it is allowed. `asks`: the query of the form that shows the effect, empty for the hide they have.
    """

    hide: str
    sought_after: bool
    factors: TurnFactors
    is_now: bool = False
    moves: str = ""
    loses: str = ""
    against: str = ""
    asks: str = ""


@dataclass(frozen=True)
class _Try:
    """One way into a hide: to its best free seat (`other` None), or in exchange with somebody."""

    other: int | None
    effect: Effect

    @property
    def rank(self) -> tuple[bool, float, float]:
        """The better, the higher: allowed first, then the lowest share, then the sum of shares."""
        after = self.effect.after
        return self.effect.is_sound, after.worst_share if after else 0.0, after.total_of_shares if after else 0.0


def turn_options(rota: Rota, session: Session, place: Place) -> tuple[TurnOption, ...]:
    """The hides of a session's site that the person may sit in, the best for them first; empty for somebody away.

    Judged by the checker on the trip as it stands now: the best free seat, else the exchange that costs least.
    """
    stored = stored_rota(rota)
    inputs, plan = stored.inputs, edits.sort_plan(stored.plan)
    person = next((number for number, row in enumerate(inputs.people) if row.pk == place.pk), None)
    when = next((number for number, row in enumerate(inputs.values.session_rows) if row.pk == session.pk), None)
    if person is None or when is None:
        return ()
    names = trip_names(inputs)
    found = [
        _option(inputs, plan, Turn(person, when, hide, NO_SEAT), names)
        for hide in range(len(inputs.values.hides))
        if inputs.problem.may_sit(person, when, hide)
    ]
    return tuple(sorted(found, key=lambda one: (-one.factors.points, one.hide)))


def _option(inputs: RotaInputs, plan: Plan, turn: Turn, names: RotaNames) -> TurnOption:
    hide = inputs.values.hides[turn.hide]
    factors = inputs.table.factors[turn.person, turn.session, turn.hide]
    option = TurnOption(hide.name, hide.sought_after, factors)
    if any((one.person, one.session, one.hide) == (turn.person, turn.session, turn.hide) for one in plan.turns):
        return TurnOption(hide.name, hide.sought_after, factors, is_now=True)
    best = max(_tries(inputs, plan, turn), key=lambda one: one.rank, default=None)
    if best is None:
        return option
    asks = f"hide={hide.key}" if best.other is None else f"person={inputs.people[best.other].uuid}"
    moves = "nobody" if best.other is None else names.person(best.other)
    return TurnOption(
        hide.name, hide.sought_after, factors, False, moves, _loses(best.effect), _against(best.effect, names), asks
    )


def _tries(inputs: RotaInputs, plan: Plan, turn: Turn) -> Iterator[_Try]:
    """The best free seat; where there is none, an exchange with each person who sits there."""
    there = [one for one in plan.turns if (one.session, one.hide) == (turn.session, turn.hide)]
    seats = inputs.problem.hides[turn.hide].seats
    usable = sum(1 for seat in seats if seat.out_from is None or turn.session < seat.out_from)
    if len({one.seat for one in there}) < usable or any(one.person == LEADER for one in there):
        yield _Try(None, edits.judge_edit(inputs.problem, plan, edits.move_person(inputs.problem, plan, turn)))
        return
    for one in there:
        after = edits.swap_places(plan, turn.session, turn.person, one.person)
        yield _Try(one.person, edits.judge_edit(inputs.problem, plan, after))


def _loses(effect: Effect) -> str:
    """What becomes of the lowest fair share, and of the sum of all of them."""
    after, before = effect.after, effect.before
    if after is None:
        return ""
    was, now = told_share(before.worst_share), told_share(after.worst_share)
    lowest = "lowest share as now" if was == now else f"lowest share {was:.2f} → {now:.2f}"
    gained = round(after.total_of_shares - before.total_of_shares, 2)
    return f"{lowest}, all together {gained:+.2f}".replace("-", "−")


def _against(effect: Effect, names: RotaNames) -> str:
    faults: tuple[Fault, ...] = effect.faults
    return fault_sentence(faults[0], names) if faults else ""
