"""LP relaxation: the rules as a linear program over fractional turns. Solved in `lp_solve`, branched on in `bound`."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import permutations

from trips.core.rota.model.group_wishes import DemandExcess, Served, able_for
from trips.core.rota.model.space import NONE, SCALE, Space
from trips.core.rota.model.wishes import Changes, Rests, RotaWish, issued_cells

_INFINITY = float("inf")
_MOST_SHARE = 4.0  # joined sessions can lift a share past 1
Triple = tuple[int, int, int]


@dataclass(slots=True)
class LinearProgram:
    """A linear program to maximise, every variable from 0 to its upper bound.

    Kept as lists (the matrix as row, column, value of each entry), so that its bound can be computed anew from the
    duals.
    """

    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    objective: list[float] = field(default_factory=list)
    row_low: list[float] = field(default_factory=list)
    row_high: list[float] = field(default_factory=list)
    entry_rows: list[int] = field(default_factory=list)
    entry_columns: list[int] = field(default_factory=list)
    entry_values: list[float] = field(default_factory=list)

    def variable(self, upper: float = 1.0, objective: float = 0.0, *, whole: bool = True) -> int:
        """A variable from 0 to `upper`. `whole`: every rota gives it a whole number; the relaxation does not ask."""
        self.upper.append(upper)
        self.whole.append(whole)
        self.objective.append(objective)
        return len(self.upper) - 1

    def row(self, low: float, high: float, terms: Iterable[tuple[int, float]]) -> None:
        """low <= sum <= high."""
        number = len(self.row_low)
        self.row_low.append(low)
        self.row_high.append(high)
        for column, value in terms:
            self.entry_rows.append(number)
            self.entry_columns.append(column)
            self.entry_values.append(value)


class LpRelaxation:
    """The linear program of a space: maximise the worst share, or with `floor` under every share the total of shares.

    `turns`: the column of each turn. `share_rows`: the row that holds each person's share up. `summed`: how many shares
    the objective adds up. `limits`: earlier wishes; those that are sums of turns are rows here too.
    """

    def __init__(self, space: Space, floor: float | None = None, limits: Iterable[tuple[RotaWish, int]] = ()) -> None:
        self.space, self.program = space, LinearProgram()
        self.turns: dict[Triple, int] = {}
        self.share_rows: dict[int, int] = {}
        self._one_turn_or_rest()
        self._seats_and_minimum()
        self._apart_and_twice_running()
        self._sessions_in_a_row()
        excess = None
        for wish, limit in limits:
            self._hold(wish, limit)
            excess = limit if isinstance(wish, DemandExcess) else excess
            if isinstance(wish, Served) and excess is not None:
                self._hold_excess(wish, excess)
        worst = self.program.variable(_MOST_SHARE, 1.0, whole=False) if floor is None else None
        for person in range(space.people):
            self._shares(person, worst, floor)
        self.summed = 1 if floor is None else max(1, len(space.counted))

    def _one_turn_or_rest(self) -> None:
        space, keys, seen = self.space, {}, set()
        for person in range(space.people):
            for session in range(space.sessions):
                options = space.options[person][session]
                row = []
                for hide in options:
                    key = space.key(person, session, hide)
                    if key not in keys:
                        keys[key] = self.program.variable()
                    self.turns[person, session, hide] = keys[key]
                    row.append(keys[key])
                if tuple(row) not in seen:
                    seen.add(tuple(row))
                    self.program.row(1.0, 1.0, [(column, 1.0) for column in row])

    def _seats_and_minimum(self) -> None:
        space, program = self.space, self.program
        for session in range(space.first_free, space.sessions):
            opened, fixed_open = [], 0
            for hide in range(space.hides):
                there = [self.turns[p, session, hide] for p in range(space.people) if (p, session, hide) in self.turns]
                if space.is_fixed(session, hide):
                    fixed_open += bool(there)
                    continue
                if not there:
                    continue
                is_open = program.variable()
                opened.append((is_open, 1.0))
                people = [(column, 1.0) for column in there]
                program.row(-_INFINITY, 0.0, [*people, (is_open, -float(space.room[session][hide]))])
                if space.least[session][hide] > 1:
                    program.row(0.0, _INFINITY, [*people, (is_open, -float(space.least[session][hide]))])
            program.row(-_INFINITY, float(space.open_limit[session] - fixed_open), opened)
            resting = [(p, session, NONE) for p in range(space.people) if p not in space.problem.guests]
            rests = [(self.turns[turn], 1.0) for turn in resting if turn in self.turns]
            if rests:
                program.row(-_INFINITY, float(space.problem.rests(session)), rests)

    def _apart_and_twice_running(self) -> None:
        space = self.space
        for one, other in space.problem.apart:
            for session in range(space.first_free, space.sessions):
                for hide in range(space.hides):
                    if not space.is_fixed(session, hide):
                        self._not_both((one, session, hide), (other, session, hide))
        for one, other, session in space.problem.sharers:
            if space.held.isdisjoint({(one, session), (other, session)}):
                for hide, elsewhere in permutations(range(space.hides), 2):
                    self._not_both((one, session, hide), (other, session, elsewhere))
        if not space.problem.never_twice_running:
            return
        for person, session, hide in list(self.turns):
            later = session + 1
            fixed = space.is_fixed(session, hide) and later < space.sessions and space.is_fixed(later, hide)
            if not fixed and space.visit(person, session, hide) != space.visit(person, later, hide):
                self._not_both((person, session, hide), (person, later, hide))

    def _sessions_in_a_row(self) -> None:
        """Of sessions in a row, one more than may follow each other, at least one is a rest, unless all are fixed."""
        space, most = self.space, self.space.problem.consecutive_turns_at_most
        if most is None:
            return
        for person in range(space.people):
            for first in range(space.sessions - most):
                row = [(person, session) for session in range(first, first + most + 1)]
                turns = [self.turns[p, s, hide] for p, s in row for hide in space.options[p][s] if hide >= 0]
                if not space.held.issuperset(row):
                    self.program.row(-_INFINITY, float(most), [(column, 1.0) for column in turns])

    def _not_both(self, one: Triple, other: Triple) -> None:
        if one in self.turns and other in self.turns and one[2] >= 0:
            self.program.row(-_INFINITY, 1.0, [(self.turns[one], 1.0), (self.turns[other], 1.0)])

    def _hold(self, wish: RotaWish, limit: int) -> None:
        """An earlier wish as a row, where it is a sum of turns; the others are left out, which only lifts the bound."""
        if isinstance(wish, Changes):
            cells = issued_cells(self.space)
            kept = [self.turns[p, s, hide] for (p, s), hide in cells.items() if (p, s, hide) in self.turns]
            self.program.row(float(len(cells) - limit), _INFINITY, [(column, 1.0) for column in kept])
        if isinstance(wish, Rests):
            rests = [
                (self.turns[p, s, NONE], 1.0)
                for p in range(self.space.people)
                for s in range(self.space.sessions)
                if p not in self.space.problem.guests and (p, s, NONE) in self.turns
            ]
            self.program.row(-_INFINITY, float(limit), rests)
        if isinstance(wish, Served):
            for person, hide in wish.who:
                self.program.row(1.0, _INFINITY, self._turns_there(person, hide))

    def _hold_excess(self, served: Served, limit: int) -> None:
        """In sought-after hides nobody has more than one visit above the least-served, but for `limit` in all."""
        program, most, excess = self.program, float(self.space.sessions), []
        for hide in self.space.problem.in_demand:
            least = program.variable(most)
            for person in able_for(self.space, hide):
                if (person, hide) in served.who:
                    program.row(0.0, _INFINITY, [*self._turns_there(person, hide), (least, -1.0)])
                visits = [(column, 1.0) for column in sorted(set(self._visit_columns(person, hide).values()))]
                beyond = program.variable(most)
                program.row(-_INFINITY, 1.0, [*visits, (least, -1.0), (beyond, -1.0)])
                excess.append((beyond, 1.0))
        program.row(-_INFINITY, float(limit), excess)

    def _turns_there(self, person: int, hide: int) -> list[tuple[int, float]]:
        """The sum of a person's turns in a hide, at least as large as that of visits."""
        there = {self.turns[person, s, hide] for s in range(self.space.sessions) if (person, s, hide) in self.turns}
        return [(column, 1.0) for column in sorted(there)]

    def _visit_columns(self, person: int, hide: int) -> dict[int, int]:
        """A column for each visit that a person may make to a hide, by its first session."""
        return {
            self.space.visit(person, session, hide): self.turns[person, session, hide]
            for session in range(self.space.sessions)
            if hide in self.space.options[person][session]
        }

    def _shares(self, person: int, worst: int | None, floor: float | None) -> None:
        """The person's share is at least the worst one (or the floor); visits beyond the rule are cut off."""
        space, program = self.space, self.program
        counts = person in space.counted
        share: list[tuple[int, float]] = []
        for session in range(space.sessions):
            for hide in space.options[person][session]:
                if hide >= 0 and counts:
                    gain = space.gain[person][session][hide] / SCALE
                    share.append((self.turns[person, session, hide], gain))
        for hide in range(space.hides):
            share += self._visits(person, hide, counts)
        if not counts:
            return
        self.share_rows[person] = len(program.row_low)
        if worst is not None:
            program.row(0.0, _INFINITY, [*share, (worst, -1.0)])
            return
        for column, value in share:
            program.objective[column] += value
        program.row(floor if floor is not None else 0.0, _INFINITY, share)

    def _visits(self, person: int, hide: int, counts: bool) -> list[tuple[int, float]]:
        """At most so many visits; their fees as terms of the share."""
        space, visits = self.space, self._visit_columns(person, hide)
        columns = [(column, 1.0) for column in sorted(set(visits.values()))]
        most = min(len(visits), space.visits_limit[person][hide])
        fee = [value / SCALE for value in space.fee[person][hide][:most]] if counts else [0.0] * most
        fee = [min(fee[index:]) for index in range(most)]  # never dearer than it is, should a later visit cost less
        if not columns or (most == len(visits) and not any(fee)):
            return []
        free = next((index for index in range(most) if fee[index]), most)
        slots = [self.program.variable() for _ in range(free, most)]
        self.program.row(-_INFINITY, float(free), columns + [(slot, -1.0) for slot in slots])
        return [(slot, -cost) for slot, cost in zip(slots, fee[free:], strict=True)]
