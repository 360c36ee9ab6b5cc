"""Better and better drafts for one wish at a time: all cells free where they are few, else parts of them in turn."""

from collections.abc import Callable
from dataclasses import dataclass, field

from trips.core.rota.model.cp_sat import Found, Stop, Task, solve_tasks
from trips.core.rota.model.rota_model import RotaModel
from trips.core.rota.model.rules import rota_model
from trips.core.rota.model.space import Cell, Draft, Space
from trips.core.rota.model.wishes import Wish
from trips.core.rota.search.lp_relaxation import Relaxed
from trips.core.rota.search.neighbourhoods import Part, Parts

_WAYS = (2, 1)  # see Task.linear
_OVERHEAD = 0.02  # work that building a model stands for
_PART_WORK = 0.4  # deterministic seconds for one part, unless a guide says otherwise


@dataclass(slots=True)
class Search:
    """A draft under improvement, and the earlier wishes that hold it. `heard(draft)` is told of better drafts."""

    space: Space
    draft: Draft
    seed: int
    stop: Stop
    heard: Callable[[Draft], None]
    seats_leader: bool = False
    limits: list[tuple[Wish, int]] = field(default_factory=list)

    def allows(self, draft: Draft) -> bool:
        """Whether the earlier wishes are held."""
        for wish, limit in self.limits:
            value = wish.value(self.space, draft)
            if value < limit if wish.upwards else value > limit:
                return False
        return True

    def take(self, draft: Draft | None, wish: Wish) -> bool:
        """Keep a draft that is better by that wish."""
        if draft is None or wish.score(self.space, draft) <= wish.score(self.space, self.draft):
            return False
        if not self.allows(draft):
            return False
        self.draft = draft
        self.heard(draft)
        return True

    def whole(self, wish: Wish, work: float) -> tuple[bool, float | None]:
        """All cells free, two ways side by side with that work each: whether it is proved, and its bound if known."""
        everything = self._everything()
        tasks = [
            Task(self._model(everything, wish, whole_goal=True), work, self.seed, linear=linear) for linear in _WAYS
        ]
        results = solve_tasks(tasks, self.stop)
        self.take(self._best(results, wish), wish)
        if any(found.status == "optimal" for found in results):
            return True, None
        known = [found.bound for found in results if found.status in ("feasible", "unknown")]
        if self.stop.reached or not known:
            return False, None
        return False, min(known) if wish.upwards else max(known)

    def parts(self, wish: Wish, work: float, guide: "Guide") -> None:
        """Set parts of the draft free, again and again, until the work is done or the wish is good enough."""
        chooser = Parts(self.space, guide.relaxed, f"{self.seed} {wish.name}")
        spent, turn = 0.0, 0
        while spent < work and not self.stop.now() and chooser.open and not guide.enough(wish, self):
            parts = [chooser.pick(self.draft) for _ in range(2)]
            each = min(guide.part_work, max(work - spent, 0.05))
            tasks = [Task(self._model(part, wish), each, self.seed + turn + i) for i, part in enumerate(parts)]
            results = solve_tasks(tasks, self.stop)
            spent += sum(found.work + _OVERHEAD for found in results)
            turn += len(parts)
            if self.take(self._best(results, wish), wish) and guide.polish is not None:
                self.take(guide.polish(self.draft), wish)
            for part, found in zip(parts, results, strict=True):
                chooser.learn(part.kind, found.status)

    def _best(self, results: list[Found], wish: Wish) -> Draft | None:
        drafts = [found.draft for found in results if found.draft is not None]
        return max(drafts, key=lambda draft: wish.score(self.space, draft), default=None)

    def _everything(self) -> Part:
        cells: frozenset[Cell] = frozenset(self.space.open_cells())
        return Part("everything", self.space, cells)

    def _model(self, part: Part, wish: Wish, *, whole_goal: bool = False) -> RotaModel:
        """A model of those cells that holds the earlier wishes and pushes this one."""
        model = rota_model(part.space, self.draft, part.free, seats_leader=self.seats_leader)
        for earlier, limit in self.limits:
            earlier.require(model, limit)
        goal = wish.express(model) if whole_goal else wish.goal(model)
        if wish.upwards:
            model.cp.maximize(goal)
        else:
            model.cp.minimize(goal)
        model.hint(self.draft)
        return model


@dataclass(frozen=True, slots=True)
class Guide:
    """What helps a search in parts: a relaxation, a value that is good enough, a quick improvement.

    `slack`: how far whole numbers may be from what they stand for; within it the goal is reached.
    `part_work`: deterministic seconds for one part.
    """

    relaxed: Relaxed
    goal: float | None = None
    slack: int = 0
    polish: Callable[[Draft], Draft] | None = None
    part_work: float = _PART_WORK

    def enough(self, wish: Wish, search: Search) -> bool:
        """Whether the draft cannot be bettered any more."""
        value = wish.value(search.space, search.draft)
        return self.goal is not None and (
            value >= self.goal - self.slack if wish.upwards else value <= self.goal + self.slack
        )
