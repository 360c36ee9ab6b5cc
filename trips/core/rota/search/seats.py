"""Seats within hides, after the turns: nobody moves seat without need, helpers sit beside, good seats go round."""

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from trips.core.rota.model.cp_sat import StopSignal, Task, solve_tasks
from trips.core.rota.model.space import Cell, Draft, Space, seats_in_use
from trips.core.rota.problem.values import LEADER

_WORK = 1.0  # deterministic seconds; seats of different sessions hardly tie, so this is ample
_HURRIED_WORK = 0.1  # once a run has to end: any seats, the issued ones first
# A weighted sum in this order, each above what all later ones can reach for one person: an issued seat kept; a helper
# beside; quality 1-5; one seat through joined sessions; spread of luck over the trip.
_MOVE, _BESIDE, _QUALITY, _LEAVE, _SPREAD = 10_000_000, 1_000_000, 20_000, 5_000, 1
_FINE = 60  # quality differences are counted in sixtieths, so that means of 2-6 seats are whole


@dataclass(slots=True)
class SeatModel:
    """One variable for each person (LEADER among them), session and seat that is open to choice."""

    space: Space
    draft: Draft
    cp: Any
    chosen: dict[tuple[int, int, int], Any] = field(default_factory=dict)
    terms: list[Any] = field(default_factory=list)
    factors: list[int] = field(default_factory=list)
    result: dict[Cell, int] = field(default_factory=dict)

    def read(self, value: Any) -> Draft:
        """Nothing of the draft changes; `seats_from` reads the seats."""
        self.result = {(p, s): seat for (p, s, seat), term in self.chosen.items() if value(term)}
        return self.draft

    def hide(self, person: int, session: int) -> int:
        """Where that person sits."""
        row = self.draft.leader if person == LEADER else self.draft.cells[person]
        return row[session]

    def want(self, term: Any, factor: int) -> None:
        """Add to what is to be as great as possible."""
        self.terms.append(term)
        self.factors.append(factor)


def seat_everybody(space: Space, draft: Draft, seed: int, stop: StopSignal) -> dict[Cell, int] | None:
    """(person, session) -> seat for everybody with a turn, the leader too; None when pinned seats do not fit.

    A run that has to end takes any seats that fit: its plan is sound, and people keep the seats they were issued.
    """
    from ortools.sat.python import cp_model

    model = SeatModel(space, draft, cp_model.CpModel())
    fixed = _fixed_seats(space)
    sitting = [
        (person, session)
        for person in (LEADER, *range(space.people))
        for session in range(space.sessions)
        if model.hide(person, session) >= 0 and (person, session) not in fixed
    ]
    one_seat_each(model, sitting)
    nobody_shares_a_seat(model, sitting)
    pinned_seats_and_stays(model, fixed)
    stay_where_issued(model)
    best_seats_and_evenly(model)
    helpers_beside(model)
    model.cp.maximize(cp_model.LinearExpr.weighted_sum(model.terms, model.factors))
    if not stop.now() and _solved(model, Task(model, _WORK, seed), stop):  # type: ignore[arg-type]
        return fixed | model.result
    if not stop.reached:
        return None
    _hint_issued(model)
    hurried = Task(model, _HURRIED_WORK, seed, stop_at_first=True)  # type: ignore[arg-type]
    return fixed | model.result if _solved(model, hurried, StopSignal()) else None


def _solved(model: SeatModel, task: Task, stop: StopSignal) -> bool:
    return solve_tasks([task], stop)[0].draft is not None


def _hint_issued(model: SeatModel) -> None:
    for term in _issued_seats(model):
        model.cp.add_hint(term, 1)


def _issued_seats(model: SeatModel) -> list[Any]:
    """The variable of each issued seat that its person can keep."""
    issued = model.space.problem.issued
    return [
        model.chosen[turn.person, turn.session, turn.seat]
        for turn in (issued.turns if issued is not None else ())
        if (turn.person, turn.session, turn.seat) in model.chosen and model.hide(turn.person, turn.session) == turn.hide
    ]


def _fixed_seats(space: Space) -> dict[Cell, int]:
    issued = space.problem.issued.turns if space.problem.issued is not None else ()
    return {(t.person, t.session): t.seat for t in issued if space.is_fixed(t.session, t.hide)}


def one_seat_each(model: SeatModel, sitting: list[Cell]) -> None:
    """Everybody with a turn has one seat of the hide that is in use then."""
    for person, session in sitting:
        seats = seats_in_use(model.space.problem, session, model.hide(person, session))
        for seat in seats:
            model.chosen[person, session, seat] = model.cp.new_bool_var("")
        model.cp.add_exactly_one([model.chosen[person, session, seat] for seat in seats])


def nobody_shares_a_seat(model: SeatModel, sitting: list[Cell]) -> None:
    """A seat holds one person, but for the two who hand one over."""
    groups: dict[tuple[int, int], list[int]] = {}
    for person, session in sitting:
        groups.setdefault((session, model.hide(person, session)), []).append(person)
    for (session, hide), people in groups.items():
        sharing = [p for p in people if (p, session) in model.draft.parts]
        for seat in seats_in_use(model.space.problem, session, hide):
            terms = [model.chosen[p, session, seat] for p in people if p not in sharing[1:]]
            model.cp.add_at_most_one(terms)
            for other in sharing[1:]:
                model.cp.add(model.chosen[other, session, seat] == model.chosen[sharing[0], session, seat])


def pinned_seats_and_stays(model: SeatModel, fixed: dict[Cell, int]) -> None:
    """Pinned seats are kept, and so is a seat through a break; in joined sessions it is kept where it can be."""
    problem = model.space.problem
    for pin in problem.pins:
        term = model.chosen.get((pin.person, pin.session, pin.seat))
        if term is not None and model.hide(pin.person, pin.session) == pin.hide:
            model.cp.add(term == 1)
    for person, session, hide in sorted(problem.stays):
        if not model.hide(person, session) == model.hide(person, session + 1) == hide:
            continue
        for seat in range(len(problem.hides[hide].seats)):
            now, later = (
                int(fixed[person, s] == seat) if (person, s) in fixed else model.chosen.get((person, s, seat), 0)
                for s in (session, session + 1)
            )
            if isinstance(now, int) and isinstance(later, int):
                continue
            model.cp.add(now == later)
    for hide, sessions in problem.joined:
        for first, second in pairwise(sessions):
            for (person, session, seat), term in list(model.chosen.items()):
                if session == first and model.hide(person, first) == model.hide(person, second) == hide:
                    leaves = model.cp.new_bool_var("")
                    model.cp.add(leaves >= term - model.chosen.get((person, second, seat), 0))
                    model.want(leaves, -_LEAVE)


def stay_where_issued(model: SeatModel) -> None:
    """In a repair nobody changes seat without need."""
    for term in _issued_seats(model):
        model.want(term, _MOVE)


def best_seats_and_evenly(model: SeatModel) -> None:
    """Participants take the best seats, the leader what is left; over the trip nobody has much better seats."""
    problem = model.space.problem
    luck: dict[int, list[tuple[Any, int]]] = {}
    for (person, session, seat), term in model.chosen.items():
        hide = model.hide(person, session)
        seats = seats_in_use(problem, session, hide)
        qualities = [problem.hides[hide].seats[i].quality for i in seats]
        quality = problem.hides[hide].seats[seat].quality
        if person != LEADER and max(qualities) > min(qualities):
            model.want(term, _QUALITY * quality)
            luck.setdefault(person, []).append((term, _FINE * quality - _FINE * sum(qualities) // len(qualities)))
    if len(luck) < 2:
        return
    most, least = (model.cp.new_int_var(-(10**6), 10**6, "") for _ in range(2))  # beyond any sum of luck
    for parts in luck.values():
        own = sum(term * factor for term, factor in parts)
        model.cp.add(most >= own)
        model.cp.add(least <= own)
    model.want(most, -_SPREAD)
    model.want(least, _SPREAD)


def helpers_beside(model: SeatModel) -> None:
    """A helper sits in the seat beside the person, whatever the seats are worth, where that moves nobody issued."""
    for helper, person in model.space.problem.helpers:
        for (who, session, seat), term in list(model.chosen.items()):
            if who != helper or model.hide(helper, session) != model.hide(person, session):
                continue
            neighbours = [
                model.chosen[person, session, n] for n in (seat - 1, seat + 1) if (person, session, n) in model.chosen
            ]
            beside = model.cp.new_bool_var("")
            model.cp.add_implication(beside, term)
            model.cp.add(beside <= sum(neighbours))
            model.want(beside, _BESIDE)
