"""A rota as a constraint model: what a rule or a wish can ask of it. The rules themselves are in `rules`.

Only free cells become variables; everything else is taken from a draft and folded into numbers.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any, NamedTuple

from trips.core.rota.model.space import NONE, Cell, Draft, Space

Term = Any  # a variable of the solver, or 0 or 1


class Rule(NamedTuple):
    """A hard rule as far as it is about these people, sessions and hides; `figures`: names and numbers to tell."""

    name: str
    people: tuple[int, ...] = ()
    sessions: tuple[int, ...] = ()
    hides: tuple[int, ...] = ()
    figures: tuple[tuple[str, float], ...] = ()


class RotaModel:
    """A CP-SAT model over `free` cells (closed under Space.close) of a draft.

    `whole`: all cells are planned, so that rules over the whole trip can be asked for too.
    `switched`: the sessions modelled, with a literal for each rule that holds exactly while the literal does, listed in
    `switches`; None: every rule holds, in the sessions with free cells.
    """

    def __init__(
        self,
        space: Space,
        draft: Draft,
        free: Iterable[Cell],
        *,
        whole: bool = True,
        switched: tuple[int, ...] | None = None,
    ) -> None:
        from ortools.sat.python import cp_model

        self.expr = cp_model.LinearExpr
        self.cp = cp_model.CpModel()
        self.space, self.draft, self.free = space, draft, frozenset(free)
        self.whole, self.is_switched = whole, switched is not None
        self.free_sessions = tuple(sorted({session for _, session in self.free})) if switched is None else switched
        self.free_people = tuple(sorted({person for person, _ in self.free}))
        self.terms: dict[tuple[int, int, int], Term] = {}
        self.opened: dict[tuple[int, int], Term] = {}
        self.leader: dict[tuple[int, int], Term] = {}
        self.halves: dict[tuple[int, int, int], Term] = {}
        self.other_hints: list[tuple[Term, Callable[[Draft], int]]] = []
        self.switches: dict[Rule, Term] = {}
        self._shares: dict[int, Any] = {}
        self._visits: dict[tuple[int, int], list[Term]] = {}
        self._free_of: dict[int, list[int]] = defaultdict(list)
        for person, session in sorted(self.free):
            self._free_of[person].append(session)

    def hold(self, constraint: Any, rule: Rule) -> None:
        """Let a constraint hold always, or while its rule is switched on."""
        if self.is_switched:
            if rule not in self.switches:
                self.switches[rule] = self.cp.new_bool_var("")
            constraint.only_enforce_if(self.switches[rule])

    def term(self, person: int, session: int, hide: int) -> Term:
        """1, 0 or the variable that says whether that person sits there then (NONE: has no turn)."""
        if (person, session) in self.free:
            return self.terms.get((person, session, hide), 0)
        return int(self.draft.cells[person][session] == hide)

    def there(self, session: int, hide: int) -> tuple[int, list[Term]]:
        """How many people sit there for certain, and the variables of those who may."""
        terms = [self.term(person, session, hide) for person in range(self.space.people)]
        return sum(t for t in terms if isinstance(t, int)), [t for t in terms if not isinstance(t, int)]

    def visits(self, person: int, hide: int) -> list[Term]:
        """One term for each visit that person makes or may make to that hide."""
        found = self._visits.get((person, hide))
        if found is None:
            groups: dict[int, Term] = {}
            row = self.draft.cells[person]
            for session in range(len(row)) if hide in row else self._free_of[person]:
                if (person, session) in self.free:
                    term = self.terms.get((person, session, hide), 0)
                else:
                    term = int(row[session] == hide)
                if not (isinstance(term, int) and term == 0):
                    first = self.space.visit(person, session, hide)
                    if not isinstance(groups.get(first), int):
                        groups[first] = term
            found = self._visits[person, hide] = list(groups.values())
        return found

    def share(self, person: int) -> Any:
        """That person's share, at most (never more than it is, when high is good)."""
        if person not in self._shares:
            self._shares[person] = _share(self, person)
        return self._shares[person]

    def touched(self) -> tuple[int, ...]:
        """The people who count and whose share may change."""
        halves = {person for person, _, _ in self.halves}
        return tuple(p for p in self.space.counted if p in halves or p in self.free_people)

    def any_of(self, terms: Iterable[Term]) -> Term:
        """1 when at least one of the terms is 1."""
        listed = list(terms)
        if any(isinstance(term, int) and term for term in listed):
            return 1
        listed = [term for term in listed if not isinstance(term, int)]
        if not listed:
            return 0
        if len(listed) == 1:
            return listed[0]
        found = self.cp.new_bool_var("")
        self.cp.add_max_equality(found, listed)
        return found

    def hint(self, draft: Draft) -> None:
        """Suggest a draft's choices to the solver."""
        hinted = set()
        for (person, session, hide), term in self.terms.items():
            if term.index not in hinted:
                hinted.add(term.index)
                self.cp.add_hint(term, int(draft.cells[person][session] == hide))
        for (session, hide), term in self.opened.items():
            if not isinstance(term, int):
                people = range(self.space.people)
                self.cp.add_hint(term, int(any(draft.cells[p][session] == hide for p in people)))
        for (session, hide), term in self.leader.items():
            self.cp.add_hint(term, int(draft.leader[session] == hide))
        for (person, session, hide), term in self.halves.items():
            parts = (person, session) in draft.parts and draft.cells[person][session] == hide
            self.cp.add_hint(term, int(parts))
        for term, value in self.other_hints:
            self.cp.add_hint(term, value(draft))

    def read(self, value: Any) -> Draft:
        """The draft that a solution stands for; `value(term)` gives a variable's value."""
        draft = self.draft.copy()
        for (person, session, hide), term in self.terms.items():
            if value(term):
                draft.cells[person][session] = hide
        for session in {session for session, _ in self.leader}:
            draft.leader[session] = NONE
        for (session, hide), term in self.leader.items():
            if value(term):
                draft.leader[session] = hide
        decided = {(person, session) for person, session, _ in self.halves} | self.free
        handed = {(person, session) for (person, session, _), term in self.halves.items() if value(term)}
        draft.parts = frozenset((draft.parts - decided) | handed)
        return draft


def _share(model: RotaModel, person: int) -> Any:
    """Gains less the fees of visits; each further visit costs more than the one before it."""
    space = model.space
    variables: list[Term] = []
    factors: list[int] = []
    constant = 0
    for session in range(space.sessions):
        for hide in range(space.hides):
            term, gain = model.term(person, session, hide), space.gain[person][session][hide]
            if isinstance(term, int):
                constant += term * gain
            elif gain:
                variables.append(term)
                factors.append(gain)
        constant -= _half_loss(model, person, session, variables, factors)
    for hide in range(space.hides):
        constant -= _fees(model, person, hide, variables, factors)
    return model.expr.weighted_sum(variables, factors) + constant


def _half_loss(model: RotaModel, person: int, session: int, variables: list[Term], factors: list[int]) -> int:
    """What a person who hands a seat over loses in that session: a constant, or a term for each hide it may be in."""
    gain = model.space.gain[person][session]
    halves = [
        (hide, model.halves[person, session, hide])
        for hide in range(model.space.hides)
        if (person, session, hide) in model.halves
    ]
    for hide, half in halves:
        variables.append(half)
        factors.append(gain[hide] // 2 - gain[hide])
    if halves or (person, session) in model.free or (person, session) not in model.draft.parts:
        return 0
    hide = model.draft.cells[person][session]
    return gain[hide] - gain[hide] // 2


def _fees(model: RotaModel, person: int, hide: int, variables: list[Term], factors: list[int]) -> int:
    """The fees of that person's visits there: a constant part, and a variable for each further visit."""
    fee = model.space.fee[person][hide]
    visits = model.visits(person, hide)
    certain = sum(term for term in visits if isinstance(term, int))
    possible = [term for term in visits if not isinstance(term, int)]
    most = min(certain + len(possible), max(model.space.visits_limit[person][hide], certain))
    costs = defaultdict(int) | dict(enumerate(fee[certain:most]))
    if possible and any(costs.values()):
        free = next((i for i in range(len(costs)) if costs[i]), len(costs))
        slots = [model.cp.new_bool_var("") for _ in range(free, len(costs))]
        model.cp.add(model.expr.sum(possible) <= free + model.expr.sum(slots))
        rising = all(costs[i] <= costs[i + 1] for i in range(len(costs) - 1))
        for index, slot in enumerate(slots):
            model.other_hints.append((slot, partial(_visits_pass, model.space, (person, hide, certain + free + index))))
            variables.append(slot)
            factors.append(-costs[free + index])
            if index and not rising:
                model.cp.add_implication(slot, slots[index - 1])
    return sum(fee[:certain])


def _visits_pass(space: Space, what: tuple[int, int, int], draft: Draft) -> int:
    person, hide, number = what
    return int(space.visits(draft, person, hide) > number)


def both_there(model: RotaModel, one: int, other: int, session: int, hide: int) -> Term:
    """At most 1, and only when both sit there then."""
    first, second = model.term(one, session, hide), model.term(other, session, hide)
    if isinstance(first, int):
        return second if first else 0
    if isinstance(second, int):
        return first if second else 0
    both = model.cp.new_bool_var("")
    model.cp.add_implication(both, first)
    model.cp.add_implication(both, second)
    return both
