"""Wishes about hides and groups: turns in sought-after hides, burdens, pairs who meet."""

from typing import Any

from trips.core.rota.model.rota_model import RotaModel, both_there
from trips.core.rota.model.space import Draft, Space
from trips.core.rota.model.wishes import RotaWish, no_guests
from trips.core.rota.problem.values import Problem


class WithoutTurn(RotaWish):
    """For each sought-after hide: fewest able people without a turn there."""

    name = "without_turn"

    def value(self, space: Space, draft: Draft) -> int:
        """Able people without a turn, over all sought-after hides."""
        return sum(
            hide not in draft.cells[person] for hide in space.problem.in_demand for person in able_for(space, hide)
        )

    def express(self, model: RotaModel) -> Any:
        """One for each able person without a visit."""
        lacking = []
        for hide in model.space.problem.in_demand:
            for person in able_for(model.space, hide):
                visits = model.visits(person, hide)
                if not any(isinstance(term, int) for term in visits):
                    lacking.append(model.cp.new_bool_var(""))
                    model.cp.add(model.expr.sum([*visits, lacking[-1]]) >= 1)
        return model.expr.sum(lacking)


class DemandExcess(RotaWish):
    """For each sought-after hide: the least sum of turns beyond one more than the least-served who has any."""

    name = "demand_excess"

    def value(self, space: Space, draft: Draft) -> int:
        """The excess over all sought-after hides."""
        total = 0
        for hide in space.problem.in_demand:
            counts = [space.visits(draft, person, hide) for person in able_for(space, hide)]
            least = min((count for count in counts if count), default=0)
            total += sum(max(0, count - least - 1) for count in counts)
        return total

    def express(self, model: RotaModel) -> Any:
        """Each person's visits beyond the least-served, hide by hide."""
        excess: list[Any] = []
        most = model.space.sessions
        for hide in model.space.problem.in_demand:
            least = model.cp.new_int_var(0, most, "")
            for person in able_for(model.space, hide):
                visits = model.visits(person, hide)
                if visits:
                    served = model.any_of(visits)
                    model.cp.add(least <= model.expr.sum(visits) + most * (1 - served))
                    excess.append(model.cp.new_int_var(0, most, ""))
                    model.cp.add(excess[-1] >= model.expr.sum(visits) - least - 1)
        return model.expr.sum(excess)


class Served(RotaWish):
    """Everyone whom the draw gave a turn in a sought-after hide keeps one."""

    name = "served"

    def __init__(self, space: Space, draft: Draft) -> None:
        self.who = [
            (person, hide)
            for hide in space.problem.in_demand
            for person in able_for(space, hide)
            if hide in draft.cells[person]
        ]

    def value(self, space: Space, draft: Draft) -> int:
        """How many of them lost their turn."""
        return sum(hide not in draft.cells[person] for person, hide in self.who)

    def require(self, model: RotaModel, limit: int) -> None:
        """One visit at least for each of them."""
        for person, hide in self.who:
            visits = model.visits(person, hide)
            if not any(isinstance(term, int) for term in visits):
                model.cp.add(model.expr.sum(visits) >= 1)


class BurdenExcess(RotaWish):
    """Nobody carries more than one burden above the least loaded able person."""

    name = "burden_excess"

    def value(self, space: Space, draft: Draft) -> int:
        """The sum of what people carry beyond one more than the least loaded."""
        counts = [self._count(space, draft, person) for person in range(space.people)]
        least = min((counts[person] for person in _able_to_carry(space.problem)), default=0)
        return sum(max(0, count - least - 1) for count in counts)

    def _count(self, space: Space, draft: Draft, person: int) -> int:
        return sum((session, hide) in space.problem.burdens for session, hide in enumerate(draft.cells[person]))

    def express(self, model: RotaModel) -> Any:
        """Each person's burdens beyond the least loaded."""
        space = model.space
        able = _able_to_carry(space.problem)
        least = model.cp.new_int_var(0, space.sessions, "")
        excess = []
        for person in range(space.people):
            carried = model.expr.sum([model.term(person, s, h) for s, h in sorted(space.problem.burdens)])
            if person in able:
                model.cp.add(least <= carried)
            excess.append(model.cp.new_int_var(0, space.sessions, ""))
            model.cp.add(excess[-1] >= carried - least - 1)
        return model.expr.sum(excess)


class PairsMet(RotaWish):
    """As many pairs as possible share a hide at least once."""

    name = "pairs_met"
    upwards = True

    def ideal(self, space: Space) -> int:
        """All pairs who are ever there together and not kept apart, or what the sessions' groups could hold."""
        apart = {frozenset(pair) for pair in space.problem.apart}
        pairs = sum(
            frozenset((one, other)) not in apart and _could_meet(space, one, other)
            for one in range(space.people)
            for other in range(one)
        )
        return min(pairs, sum(_most_pairs(space, session) for session in range(space.sessions)))

    def value(self, space: Space, draft: Draft) -> int:
        """Pairs with a session in one hide."""
        met = set()
        for session in range(space.sessions):
            groups: dict[int, list[int]] = {}
            for person in range(space.people):
                if draft.cells[person][session] >= 0:
                    groups.setdefault(draft.cells[person][session], []).append(person)
            met |= {(one, other) for group in groups.values() for one in group for other in group if one < other}
        return len(met)

    def express(self, model: RotaModel) -> Any:
        """One for each pair with a common session and hide."""
        space = model.space
        met: list[Any] = []
        for other in range(space.people):
            for one in range(other):
                terms = [
                    both_there(model, one, other, session, hide)
                    for session in range(space.sessions)
                    for hide in range(space.hides)
                ]
                terms = [term for term in terms if not (isinstance(term, int) and not term)]
                if any(isinstance(term, int) for term in terms):
                    met.append(1)
                elif terms:
                    met.append(model.cp.new_bool_var(""))
                    model.cp.add(met[-1] <= model.expr.sum(terms))
        return model.expr.sum(met)


def able_for(space: Space, hide: int) -> list[int]:
    """The people whom the hard rules let sit in that hide in some session, with those they are always with."""
    problem = space.problem
    if problem.visits_at_most == 0:
        return []
    return [
        person
        for person in no_guests(space)
        if any(
            all(_could_sit(problem, person, s, hide) for s in space.joined_of.get((session, hide), (session,)))
            for session in range(space.sessions)
        )
    ]


def _could_sit(problem: Problem, person: int, session: int, hide: int) -> bool:
    party = {person}
    waiting = [person]
    while waiting:
        who = waiting.pop()
        for pair in problem.together + problem.helpers:
            for other in pair if who in pair else ():
                if other not in party and (other, session) not in problem.absent:
                    party.add(other)
                    waiting.append(other)
    pinned = {pin.person: pin.hide for pin in problem.pins if pin.session == session}
    return len(party) <= problem.capacity(session, hide) and all(
        problem.may_sit(who, session, hide) and pinned.get(who, hide) == hide for who in party
    )


def _could_meet(space: Space, one: int, other: int) -> bool:
    return any(
        hide >= 0 and hide in space.options[other][session]
        for session in range(space.sessions)
        for hide in space.options[one][session]
    )


def _most_pairs(space: Space, session: int) -> int:
    """Pairs of people in one hide when the largest hides are filled first."""
    people = sum(any(hide >= 0 for hide in space.options[p][session]) for p in range(space.people))
    if session < space.first_free:
        return people * (people - 1) // 2
    pairs = 0
    held = [space.options[p][session] for p in range(space.people) if (p, session) in space.held]
    rooms = [max(room, held.count((hide,))) for hide, room in enumerate(space.room[session])]
    for room in sorted(rooms, reverse=True)[: space.open_limit[session]]:
        group = max(0, min(room, people))
        people -= group
        pairs += group * (group - 1) // 2
    return pairs


def _able_to_carry(problem: Problem) -> list[int]:
    return [
        person
        for person in range(len(problem.people))
        if any(problem.may_sit(person, session, hide) for session, hide in sorted(problem.burdens))
    ]
