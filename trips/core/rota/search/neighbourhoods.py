"""Which cells to set free next: some sessions, some people, or many of both with fewer choices each."""

import random
from dataclasses import dataclass, replace

from trips.core.rota.model.space import Cell, Draft, Space
from trips.core.rota.search.lp_relaxation import Relaxed

_KINDS = ("sessions", "people", "many")


@dataclass(frozen=True, slots=True)
class Part:
    """Cells to set free, in a space that may leave them fewer choices."""

    kind: str
    space: Space
    free: frozenset[Cell]


class Parts:
    """Chooses parts, and learns how large they may be."""

    def __init__(self, space: Space, relaxed: Relaxed, seed: str) -> None:
        self.space, self.relaxed = space, relaxed
        self.chance = random.Random(seed)
        self.open = frozenset(space.open_cells())
        self.sessions = sorted({session for _, session in self.open})
        self.people = sorted({person for person, _ in self.open})
        self.size = {"sessions": 2.0, "people": 4.0, "many": 0.5}
        self.turn = 0
        self.kinds = _KINDS if relaxed.cost else _KINDS[:2]

    def everything(self) -> bool:
        """Whether one part already is the whole."""
        return self.size["sessions"] >= len(self.sessions) or not self.open

    def pick(self, draft: Draft) -> Part:
        """The next part, each kind in turn."""
        kind = self.kinds[self.turn % len(self.kinds)]
        self.turn += 1
        if kind == "sessions":
            return self._part(kind, self._some(self.sessions, self.size[kind]), set(self.people), self.space)
        if kind == "people":
            return self._part(kind, set(self.sessions), self._some_people(draft, round(self.size[kind])), self.space)
        size = self.size[kind]
        sessions = self._some(self.sessions, len(self.sessions) * min(1.0, size + 0.2))
        people = self._some_people(draft, round(len(self.people) * min(1.0, size)))
        return self._part(kind, sessions, people, self._narrowed(draft))

    def _part(self, kind: str, sessions: set[int], people: set[int], space: Space) -> Part:
        cells = {(p, s) for p, s in self.open if s in sessions and p in people}
        return Part(kind, space, space.close(cells))

    def _some(self, among: list[int], count: float) -> set[int]:
        return set(self.chance.sample(among, min(len(among), max(1, round(count)))))

    def _some_people(self, draft: Draft, count: int) -> set[int]:
        """Half of them those with the smallest shares."""
        count = min(len(self.people), max(2, count))
        order = sorted(self.people, key=lambda person: self.space.share(draft, person))
        worst = set(order[: (count + 1) // 2])
        return worst | set(self.chance.sample(order[len(worst) :], count - len(worst)))

    def _narrowed(self, draft: Draft) -> Space:
        """The draft's choice in each cell and the two that cost the relaxation least."""
        space, cost = self.space, self.relaxed.cost
        options = []
        for person, row in enumerate(space.options):
            narrow = []
            for session, choices in enumerate(row):
                now = draft.cells[person][session]
                tied = (person, session) in space.party_of or any((session, h) in space.joined_of for h in choices)
                if tied or len(choices) <= 3:
                    narrow.append(choices)
                    continue
                order = sorted(choices, key=lambda hide: (hide != now, cost.get((person, session, hide), 0.0), hide))
                narrow.append(tuple(sorted(order[:3])))
            options.append(narrow)
        return replace(space, options=options)

    def learn(self, kind: str, status: str) -> None:
        """Larger parts when they are solved outright, smaller ones when not."""
        factor = 1.1 if status in ("optimal", "infeasible") else 0.9
        least = {"sessions": 1.0, "people": 2.0, "many": 0.15}[kind]
        most = {"sessions": len(self.sessions), "people": len(self.people), "many": 1.0}[kind]
        self.size[kind] = min(max(least, self.size[kind] * factor), most)
