"""Better and better drafts for one wish at a time: the whole model where it is small, else parts of it set free."""

import random
from collections.abc import Callable
from dataclasses import dataclass, field

from trips.core.rotation.model import RotaModel
from trips.core.rotation.rules import rota_model
from trips.core.rotation.sat import Found, Stop, Task, solve_tasks
from trips.core.rotation.space import Cell, Draft, Space
from trips.core.rotation.wishes import Wish

_OVERHEAD = 0.01  # work that building a model stands for


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

    def model(self, free: frozenset[Cell], wish: Wish, *, whole_goal: bool = False) -> RotaModel:
        """A model of those cells that holds the earlier wishes and pushes this one, hinted with the draft."""
        model = rota_model(self.space, self.draft, free, seats_leader=self.seats_leader)
        for earlier, limit in self.limits:
            earlier.require(model, limit)
        goal = wish.express(model) if whole_goal else wish.goal(model)
        if wish.upwards:
            model.cp.maximize(goal)
        else:
            model.cp.minimize(goal)
        model.hint(self.draft)
        return model

    def take(self, draft: Draft | None, wish: Wish) -> bool:
        """Keep a draft that is better by that wish."""
        if draft is None or wish.score(self.space, draft) <= wish.score(self.space, self.draft):
            return False
        self.draft = draft
        self.heard(draft)
        return True

    def whole(self, wish: Wish, work: float) -> tuple[bool, float | None]:
        """All cells free: whether the wish is proved, and its bound if one is known."""
        free = frozenset(self.space.open_cells())
        found = self._solve([Task(self.model(free, wish, whole_goal=True), work, self.seed, wish.upwards)])[0]
        self.take(found.draft, wish)
        if self.stop.reached and found.status != "optimal":
            return False, None
        return found.status == "optimal", found.bound if found.status in ("optimal", "feasible", "unknown") else None

    def parts(self, wish: Wish, work: float, enough: int | None = None) -> None:
        """Set parts of the draft free, again and again, until the work is done or the wish reaches `enough`."""
        chooser = Parts(self.space, wish, random.Random(f"{self.seed} {wish.name}"))
        spent, turn = 0.0, 0
        while spent < work and not self.stop.now() and chooser.left:
            value = wish.value(self.space, self.draft)
            if enough is not None and (value >= enough if wish.upwards else value <= enough):
                return
            picks = [chooser.pick(self.draft) for _ in range(2)]
            each = min(chooser.work, max(work - spent, 0.05))
            tasks = [Task(self.model(pick, wish), each, self.seed + turn + i) for i, pick in enumerate(picks)]
            results = self._solve(tasks)
            spent += sum(found.work + _OVERHEAD for found in results)
            turn += 2
            best = max(results, key=lambda found: _score(self.space, found, wish))
            better = self.take(best.draft, wish)
            chooser.learn([found.status for found in results], better)

    def _solve(self, tasks: list[Task]) -> list[Found]:
        return solve_tasks(tasks, self.stop)


def _score(space: Space, found: Found, wish: Wish) -> tuple[float, ...]:
    return wish.score(space, found.draft) if found.draft is not None else (float("-inf"),)


class Parts:
    """Chooses which cells to set free: some sessions for everybody, or some people - half of them the worst off."""

    def __init__(self, space: Space, wish: Wish, chance: random.Random) -> None:
        self.space, self.chance = space, chance
        self.open = set(space.open_cells())
        self.sessions = sorted({session for _, session in self.open})
        self.people = sorted({person for person, _ in self.open})
        self.sessions_freed, self.people_freed = 2.0, 3.0
        self.work = 0.4
        self.turn = 0
        self.left = bool(self.open)

    def pick(self, draft: Draft) -> frozenset[Cell]:
        """The next part: sessions and people in turn."""
        self.turn += 1
        if self.turn % 2:
            count = min(len(self.sessions), max(1, round(self.sessions_freed)))
            chosen = set(self.chance.sample(self.sessions, count))
            return self.space.close({cell for cell in self.open if cell[1] in chosen})
        count = min(len(self.people), max(2, round(self.people_freed)))
        return self.space.close({cell for cell in self.open if cell[0] in self._some_people(draft, count)})

    def _some_people(self, draft: Draft, count: int) -> set[int]:
        order = sorted(self.people, key=lambda person: self.space.share(draft, person))
        worst = order[: (count + 1) // 2]
        others = [person for person in self.people if person not in worst]
        return set(worst) | set(self.chance.sample(others, min(len(others), count - len(worst))))

    def learn(self, statuses: list[str], better: bool) -> None:
        """Larger parts when they are solved outright, smaller ones when not."""
        for index, status in enumerate(statuses):
            factor = 1.08 if status in ("optimal", "infeasible") else 0.92
            if index == 0:
                self.sessions_freed = min(max(1.0, self.sessions_freed * factor), len(self.sessions))
            else:
                self.people_freed = min(max(2.0, self.people_freed * factor), len(self.people))
