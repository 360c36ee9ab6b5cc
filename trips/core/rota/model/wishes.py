"""What is wanted of a rota, one class a wish: counted in a draft, and asked of a model. Turns, rests and changes."""

from abc import ABC, abstractmethod
from typing import Any

from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.space import NONE, Cell, Draft, Space, seats_in_use
from trips.core.rota.problem.values import LEADER, NO_SEAT


class RotaWish(ABC):
    """One wish. `upwards`: high is good; `scale`: the whole number that counts as 1."""

    name = ""
    upwards = False
    scale = 1

    def ideal(self, space: Space) -> int:
        """A bound known without any search: no draft does better."""
        return 0

    def visible(self, space: Space) -> int:
        """The least gain that is worth an earlier wish's loss: one whole unit of what is counted."""
        return 1

    @abstractmethod
    def value(self, space: Space, draft: Draft) -> int:
        """The wish counted in a full draft."""

    def express(self, model: RotaModel) -> Any:
        """An expression that equals the value at the optimum and never overstates how good it is.

        A wish that is only counted, or held in a way of its own, has none.
        """
        raise TypeError(f"{self.name} is not searched for")

    def goal(self, model: RotaModel) -> Any:
        """The objective of a search: the expression, or a smoother one with the same optimum."""
        return self.express(model)

    def score(self, space: Space, draft: Draft) -> tuple[int, ...]:
        """What a search compares; the higher the better."""
        value = self.value(space, draft)
        return (value if self.upwards else -value,)

    def require(self, model: RotaModel, limit: int) -> None:
        """Hold the wish at `limit` or better."""
        expression = self.express(model)
        if self.upwards:
            model.cp.add(expression >= limit)
        else:
            model.cp.add(expression <= limit)


class Rests(RotaWish):
    """Fewest rests."""

    name = "rests"

    def value(self, space: Space, draft: Draft) -> int:
        """Rests of all who are no guests."""
        return sum(row.count(NONE) for person, row in enumerate(draft.cells) if person not in space.problem.guests)

    def express(self, model: RotaModel) -> Any:
        """The sum of all rests."""
        return model.expr.sum([term for person in no_guests(model.space) for term in _rests(model, person)])


class RestsRepeated(RotaWish):
    """Nobody rests twice before every able person has rested once."""

    name = "rests_repeated"

    def value(self, space: Space, draft: Draft) -> int:
        """Rests beyond a person's first while somebody able to rest has none."""
        rests = {person: draft.cells[person].count(NONE) for person in no_guests(space)}
        if all(rests[person] for person in _able_to_rest(space)):
            return 0
        return sum(max(0, number - 1) for number in rests.values())

    def express(self, model: RotaModel) -> Any:
        """An excess for each person, waived once all able people rest."""
        space, cp = model.space, model.cp
        all_rest = cp.new_bool_var("")
        for person in _able_to_rest(space):
            cp.add(model.expr.sum(_rests(model, person)) >= 1).only_enforce_if(all_rest)
        excess = []
        for person in no_guests(space):
            rests = _rests(model, person)
            if len(rests) > 1:
                excess.append(cp.new_int_var(0, space.sessions, ""))
                cp.add(excess[-1] >= model.expr.sum(rests) - 1 - space.sessions * all_rest)
        return model.expr.sum(excess)


class Changes(RotaWish):
    """Fewest person-sessions with another hide than issued."""

    name = "changes"

    def value(self, space: Space, draft: Draft) -> int:
        """Moves of people who are present, in sessions that are not over."""
        return sum(draft.cells[p][s] != hide for (p, s), hide in issued_cells(space).items())

    def express(self, model: RotaModel) -> Any:
        """One for each person-session that leaves its issued hide."""
        kept = [model.term(p, s, hide) for (p, s), hide in issued_cells(model.space).items()]
        return len(kept) - model.expr.sum(kept)


class SeatChanges(RotaWish):
    """Fewest people who stay in a hide where their issued seat is lost to them."""

    name = "seat_changes"

    def value(self, space: Space, draft: Draft) -> int:
        """People who need another seat of the hide they were issued."""
        return sum(draft.cells[p][s] == hide for (p, s), hide in _seats_lost(space).items())

    def express(self, model: RotaModel) -> Any:
        """One for each of them who stays."""
        return model.expr.sum([model.term(p, s, hide) for (p, s), hide in _seats_lost(model.space).items()])


class LeaderSeats(RotaWish):
    """The coaching leader sits in as many sessions as there is a seat for."""

    name = "leader_seats"
    upwards = True

    def ideal(self, space: Space) -> int:
        """Every session."""
        return space.sessions

    def value(self, space: Space, draft: Draft) -> int:
        """Sessions with a seat for the leader."""
        return sum(hide >= 0 for hide in draft.leader)

    def express(self, model: RotaModel) -> Any:
        """The leader's seats."""
        chosen = {session for session, _ in model.leader}
        certain = sum(hide >= 0 for s, hide in enumerate(model.draft.leader) if s not in chosen)
        return certain + model.expr.sum(list(model.leader.values()))


class GuestsWithout(RotaWish):
    """As few guests as possible go without a seat."""

    name = "guests_without"

    def value(self, space: Space, draft: Draft) -> int:
        """Guests' sessions without a turn."""
        return sum(draft.cells[person].count(NONE) for person in space.problem.guests)

    def express(self, model: RotaModel) -> Any:
        """The sum of all guests' sessions without a turn."""
        guests = sorted(model.space.problem.guests)
        return model.expr.sum([term for person in guests for term in _rests(model, person)])


def issued_cells(space: Space) -> dict[Cell, int]:
    """(person, session) -> the issued hide or NONE: photographers who are present, sessions that are not over."""
    guests = space.problem.guests
    return {cell: hide for cell, hide in issued_places(space).items() if cell[0] not in guests}


def issued_places(space: Space) -> dict[Cell, int]:
    """The same with the guests who had a turn: it is kept where it costs nobody anything."""
    issued, guests = space.problem.issued, space.problem.guests
    if issued is None:
        return {}
    before = {(turn.person, turn.session): turn.hide for turn in issued.turns if turn.person != LEADER}
    return {
        (person, session): before.get((person, session), NONE)
        for session in range(space.first_free, space.sessions)
        for person in space.problem.present(session)
        if person not in guests or (person, session) in before
    }


def _seats_lost(space: Space) -> dict[Cell, int]:
    """(person, session) -> the issued hide, where the issued seat is out of use by now or pinned to somebody else."""
    problem, cells = space.problem, issued_cells(space)
    taken = {(pin.session, pin.hide, pin.seat): pin.person for pin in problem.pins}
    return {
        (turn.person, turn.session): turn.hide
        for turn in (problem.issued.turns if problem.issued is not None else ())
        if (turn.person, turn.session) in cells
        and turn.seat != NO_SEAT
        and not space.is_fixed(turn.session, turn.hide)
        and (
            turn.seat not in seats_in_use(problem, turn.session, turn.hide)
            or taken.get((turn.session, turn.hide, turn.seat), turn.person) != turn.person
        )
    }


def no_guests(space: Space) -> list[int]:
    return [person for person in range(space.people) if person not in space.problem.guests]


def _able_to_rest(space: Space) -> list[int]:
    problem = space.problem
    return [
        person
        for person in no_guests(space)
        if any(problem.rests(s) and (person, s) not in problem.absent for s in range(space.sessions))
    ]


def _rests(model: RotaModel, person: int) -> list[Any]:
    terms = [model.term(person, session, NONE) for session in range(model.space.sessions)]
    return [term for term in terms if not (isinstance(term, int) and not term)]
