"""Large-neighbourhood search: set a few cells of a draft free, solve for them exactly, and go on from what is better.

Shaw (1998), Using constraint programming and local search methods to solve vehicle routing problems.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from trips.core.rota.model.cp_sat import StopSignal, Task, TaskResult, solve_tasks
from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.rules import rota_model
from trips.core.rota.model.space import SCALE, Cell, Draft, Space
from trips.core.rota.model.wishes import RotaWish
from trips.core.rota.search.bound import ACCURACY, BranchAndBound
from trips.core.rota.search.lp_relaxation import LpRelaxation, Triple
from trips.core.rota.search.lp_solve import LpSolution

SMALL = 70  # open cells up to which one model of the whole is done before a second one or neighbourhoods help it
_OVERHEAD = 0.02  # deterministic seconds that building a model stands for, so that small neighbourhoods cost something
_WORK_EACH = 0.4  # deterministic seconds; a neighbourhood that needs more is too large, and the chooser shrinks it
_LEAST_WORK = 0.05  # for the last neighbourhood, which gets what is left: enough to find something
_KINDS = ("sessions", "people", "many")
_FIRST_SIZES = {"sessions": 2.0, "people": 4.0, "many": 0.5}  # small at first: `adapt` grows them within a few rounds
_LEAST_SIZES = {"sessions": 1.0, "people": 2.0, "many": 0.15}  # below these nothing can be exchanged
_GROW, _SHRINK = 1.1, 0.9  # about alike, so that sizes settle where half the neighbourhoods are solved outright
_MORE_SESSIONS = 0.2  # "many" takes more of the sessions than of the people: the low shares choose the people
_CHOICES = 3  # of hides in a cell of "many": the draft's own and the two of least reduced cost


@dataclass(slots=True)
class NeighbourhoodSearch:
    """A draft under improvement, and the earlier wishes that hold it.

    `on_better(draft)` is told of each better draft, `on_bound(draft, bound)` of each bound of the wish under way.
    `limits`: (wish, the worst value that it may still take).
    """

    space: Space
    draft: Draft
    seed: int
    stop: StopSignal
    on_better: Callable[[Draft], None]
    seats_leader: bool = False
    limits: list[tuple[RotaWish, int]] = field(default_factory=list)
    on_bound: Callable[[Draft, float], None] | None = None

    def allows(self, draft: Draft) -> bool:
        """Whether the earlier wishes are held."""
        for wish, limit in self.limits:
            value = wish.value(self.space, draft)
            if value < limit if wish.upwards else value > limit:
                return False
        return True

    def accept(self, draft: Draft | None, wish: RotaWish) -> bool:
        """Keep a draft that is better by that wish."""
        if draft is None or wish.score(self.space, draft) <= wish.score(self.space, self.draft):
            return False
        if not self.allows(draft):
            return False
        self.draft = draft
        self.on_better(draft)
        return True

    def solve_whole(
        self, wish: RotaWish, least: int, work: float, seed: int, branching: BranchAndBound | None = None
    ) -> tuple[bool, float | None]:
        """All cells free, and only what reaches `least` is asked for: whether that is settled, else the bound.

        Settled: the draft is the best that there is, or nothing reaches `least`. Two solvers have that work each, with
        seeds of their own, or one beside a branch and bound with that floor, or one alone in a small rota. To rule out
        anything better takes a fraction of what it takes to find the best and prove it.
        """
        everything = Neighbourhood("everything", self.space, frozenset(self.space.open_cells()))
        tasks = [
            Task(self._model(everything, wish, least), work, seed + i, linear=2 - i)
            for i in range(1 if branching or len(everything.free) <= SMALL else 2)
        ]
        ruled_out = (lambda: branching.rules_out) if branching is not None else None
        results = solve_tasks(tasks, self.stop, alike=True, until=ruled_out)
        self.accept(self._best(results, wish), wish)
        settled = any(result.status in ("optimal", "infeasible") for result in results)
        if branching is not None and settled:
            branching.interrupt()
        known = _bounds(results, wish, least)
        if branching is not None and not settled:
            limit = branching.wait(self.stop)
            settled = branching.rules_out and limit is not None
            known += [] if limit is None else [limit * SCALE]
        if settled or self.stop.reached or not known:
            return settled, None
        return False, min(known) if wish.upwards else max(known)

    def race(
        self, wish: RotaWish, least: int, work: float, nodes: int, relaxation: LpRelaxation
    ) -> tuple[bool, float | None]:
        """One whole model beside a branch and bound that looks for rotas too: as `solve_whole`, but for its step.

        What the model says within its work counts first, however fast the other is; else what the other found. So the
        rota does not hang on which of them was quicker.
        """
        everything = Neighbourhood("everything", self.space, frozenset(self.space.open_cells()))
        task = Task(self._model(everything, wish, least), work, self.seed)
        floor = wish.value(self.space, self.draft) / SCALE - ACCURACY * relaxation.summed
        branching = BranchAndBound.start(relaxation, nodes, floor, finds=True)
        (result,) = solve_tasks([task], self.stop)
        self.accept(result.draft, wish)
        if result.status in ("optimal", "infeasible"):
            branching.interrupt()
            return True, None
        limit = branching.wait(self.stop)
        if limit is None:
            return False, None
        self.accept(self._seated(branching.turns(), wish), wish)
        return False, min([*_bounds([result], wish, least), limit * SCALE])

    def _seated(self, turns: set[Triple], wish: RotaWish) -> Draft | None:
        """The draft with those turns, where it keeps every rule and earlier wish."""
        options = [
            [tuple(h for h in choices if (person, session, h) in turns) for session, choices in enumerate(row)]
            for person, row in enumerate(self.space.options)
        ]
        if not turns or not all(options[person][session] for person, session in self.space.open_cells()):
            return None
        space = replace(self.space, options=options)
        model = self._model(Neighbourhood("found", space, frozenset(self.space.open_cells())), wish)
        return solve_tasks([Task(model, _WORK_EACH, self.seed)], self.stop)[0].draft

    def search_neighbourhoods(
        self, wish: RotaWish, work: float, settings: "SearchSettings", seed: int | None = None
    ) -> None:
        """Two neighbourhoods side by side, again and again, until the work is done or the bound is reached."""
        chooser = NeighbourhoodChooser(self.space, settings.lp, f"{self.seed if seed is None else seed} {wish.name}")
        spent, turn = 0.0, 0
        while spent < work and not self.stop.now() and chooser.open and not settings.bound_reached(wish, self):
            chosen = [chooser.pick(self.draft) for _ in range(2)]
            each = min(_WORK_EACH, max(work - spent, _LEAST_WORK))
            tasks = [Task(self._model(one, wish), each, self.seed + turn + i) for i, one in enumerate(chosen)]
            results = solve_tasks(tasks, self.stop)
            spent += sum(result.work + _OVERHEAD for result in results)
            turn += len(chosen)
            if self.accept(self._best(results, wish), wish) and settings.polish is not None:
                self.accept(settings.polish(self.draft), wish)
            for one, result in zip(chosen, results, strict=True):
                chooser.adapt(one.kind, result.status)

    def _best(self, results: list[TaskResult], wish: RotaWish) -> Draft | None:
        drafts = [result.draft for result in results if result.draft is not None]
        return max(drafts, key=lambda draft: wish.score(self.space, draft), default=None)

    def _model(self, chosen: "Neighbourhood", wish: RotaWish, least: int | None = None) -> RotaModel:
        """A model of those cells that holds the earlier wishes and pushes this one, from `least` on where given."""
        model = rota_model(chosen.space, self.draft, chosen.free, seats_leader=self.seats_leader)
        for earlier, limit in self.limits:
            earlier.require(model, limit)
        goal = wish.goal(model) if least is None else wish.express(model)
        if least is not None:
            model.cp.add(goal >= least if wish.upwards else goal <= least)
        if wish.upwards:
            model.cp.maximize(goal)
        else:
            model.cp.minimize(goal)
        model.hint(self.draft)
        return model


def _bounds(results: list[TaskResult], wish: RotaWish, least: int) -> list[float]:
    """The bounds that are some: a solver that ends before it has one says 0."""
    return [result.bound for result in results if not wish.upwards or result.bound >= least]


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """What steers a neighbourhood search, and when it is done.

    `lp`: its reduced costs narrow choices. `bound`: no draft is better. `rounding`: how far whole-number shares may be
    from what they stand for; within it the bound is reached. `polish`: a local search. `relaxation`: to branch on.
    """

    lp: LpSolution
    bound: float | None = None
    rounding: int = 0
    polish: Callable[[Draft], Draft] | None = None
    relaxation: LpRelaxation | None = None

    def bound_reached(self, wish: RotaWish, search: NeighbourhoodSearch) -> bool:
        """Whether the draft cannot be bettered any more."""
        value = wish.value(search.space, search.draft)
        return self.bound is not None and (
            value >= self.bound - self.rounding if wish.upwards else value <= self.bound + self.rounding
        )


@dataclass(frozen=True, slots=True)
class Neighbourhood:
    """Cells to set free, in a space that may leave them fewer choices."""

    kind: str
    space: Space
    free: frozenset[Cell]


class NeighbourhoodChooser:
    """Picks some sessions, some people, or many of both with fewer choices each; adapts how large they may be."""

    def __init__(self, space: Space, lp: LpSolution, seed: str) -> None:
        self.space, self.lp = space, lp
        self.chance = random.Random(seed)
        self.open = frozenset(space.open_cells())
        self.sessions = sorted({session for _, session in self.open})
        self.people = sorted({person for person, _ in self.open})
        self.size = dict(_FIRST_SIZES)
        self.turn = 0
        self.kinds = _KINDS if lp.reduced_costs else _KINDS[:2]

    def pick(self, draft: Draft) -> Neighbourhood:
        """The next neighbourhood, each kind in turn."""
        kind = self.kinds[self.turn % len(self.kinds)]
        self.turn += 1
        size = self.size[kind]
        if kind == "sessions":
            return self._around(kind, self._some(self.sessions, size), set(self.people), self.space)
        if kind == "people":
            return self._around(kind, set(self.sessions), self._some_people(draft, round(size)), self.space)
        sessions = self._some(self.sessions, len(self.sessions) * min(1.0, size + _MORE_SESSIONS))
        people = self._some_people(draft, round(len(self.people) * min(1.0, size)))
        return self._around(kind, sessions, people, self._narrowed(draft))

    def _around(self, kind: str, sessions: set[int], people: set[int], space: Space) -> Neighbourhood:
        cells = {(p, s) for p, s in self.open if s in sessions and p in people}
        return Neighbourhood(kind, space, space.close(cells))

    def _some(self, among: list[int], count: float) -> set[int]:
        return set(self.chance.sample(among, min(len(among), max(1, round(count)))))

    def _some_people(self, draft: Draft, count: int) -> set[int]:
        """Half of them those with the smallest shares, who gain; the rest at random, who can give."""
        count = min(len(self.people), max(2, count))
        order = sorted(self.people, key=lambda person: self.space.share(draft, person))
        worst = set(order[: (count + 1) // 2])
        return worst | set(self.chance.sample(order[len(worst) :], count - len(worst)))

    def _narrowed(self, draft: Draft) -> Space:
        """The draft's choice in each cell and the two of least reduced cost: turns that an optimum hardly misses."""
        space, costs = self.space, self.lp.reduced_costs
        options = []
        for person, row in enumerate(space.options):
            narrow = []
            for session, choices in enumerate(row):
                now = draft.cells[person][session]
                tied = (person, session) in space.party_of or any((session, h) in space.joined_of for h in choices)
                if tied or len(choices) <= _CHOICES:
                    narrow.append(choices)
                    continue
                order = sorted(choices, key=lambda hide: (hide != now, costs.get((person, session, hide), 0.0), hide))
                narrow.append(tuple(sorted(order[:_CHOICES])))
            options.append(narrow)
        return replace(space, options=options)

    def adapt(self, kind: str, status: str) -> None:
        """Larger neighbourhoods when they are solved outright, smaller ones when not."""
        factor = _GROW if status in ("optimal", "infeasible") else _SHRINK
        most = {"sessions": len(self.sessions), "people": len(self.people), "many": 1.0}[kind]
        self.size[kind] = min(max(_LEAST_SIZES[kind], self.size[kind] * factor), most)
