"""Small problems for the planner's tests, and every plan of a problem for comparison."""

from collections.abc import Iterator
from itertools import product
from math import prod
from pathlib import Path
from random import Random
from typing import Any

from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.problem.values import LEADER, Pin, Plan, Problem, ProblemHide, ProblemSeat, Turn

DATA = Path(__file__).parent / "data"


def data_problem(name: str) -> Problem:
    """A problem from the data folder."""
    return read_problem((DATA / f"{name}.json").read_text())


def real_trip(name: str) -> Problem:
    """A trip as leaders make them."""
    return read_problem((DATA.parent / "trips" / f"{name}.json").read_text())


def a_hide(name: str, seats: int, minimum: int = 1) -> ProblemHide:
    """A hide with so many seats, all alike."""
    return ProblemHide(name, tuple(ProblemSeat(f"{name}-{i + 1}") for i in range(seats)), minimum)


def a_problem(people: int, sessions: int, seats: tuple[int, ...], **changes: Any) -> Problem:
    """So many people, sessions and hides; every turn is worth 50 points unless `points` says otherwise."""
    return Problem(
        name="case",
        people=tuple(f"P{i + 1}" for i in range(people)),
        sessions=tuple(f"S{i + 1}" for i in range(sessions)),
        hides=tuple(a_hide(f"H{i + 1}", number) for i, number in enumerate(seats)),
        points=changes.pop("points", ((((50.0,) * len(seats)),) * sessions,) * people),
        **{"tolerance": 0.0, "leader": "never"} | changes,
    )


def random_problem(chance: Random, largest: tuple[int, int, int] = (4, 3, 3)) -> Problem:
    """A problem that may use every rule there is, up to so many people, sessions and hides."""
    people, sessions, hides = (chance.randint(1, most) for most in largest)
    cells = [(s, h) for s in range(sessions) for h in range(hides)]
    pairs = [(one, other) for one in range(people) for other in range(one + 1, people)]

    def some(things: list[Any], rate: float) -> tuple[Any, ...]:
        return tuple(thing for thing in things if chance.random() < rate)

    return Problem(
        name="random",
        people=tuple(f"P{i}" for i in range(people)),
        sessions=tuple(f"S{i}" for i in range(sessions)),
        hides=tuple(_random_hide(chance, i, sessions) for i in range(hides)),
        points=tuple(
            tuple(
                tuple(float(chance.choice((0, 10, 25, 50, 80, chance.randint(0, 100)))) for _ in range(hides))
                for _ in range(sessions)
            )
            for _ in range(people)
        ),
        open_hides_at_once=chance.choice((None, None, None, 1, 2)),
        visits_at_most=chance.choice((None, None, None, 2, 1)),
        never_twice_running=chance.random() < 0.15,
        leader=chance.choice(("never", "spare_seats", "coaching")),
        tolerance=0.0,
        closed=frozenset(some(cells, 0.1)),
        absent=frozenset(some([(p, s) for p in range(people) for s in range(sessions)], 0.06)),
        cannot=frozenset(some([(p, h) for p in range(people) for h in range(hides)], 0.1)),
        together=some(pairs, 0.07),
        half_together=some(pairs, 0.05),
        apart=some(pairs, 0.07),
        pins=tuple(
            Pin(chance.choice((*range(people), LEADER)), chance.randrange(sessions), chance.randrange(hides))
            for _ in range(chance.choice((0, 0, 0, 1)))
        ),
        joined=((chance.randrange(hides), (0, 1)),) if sessions > 1 and chance.random() < 0.2 else (),
        in_demand=some(list(range(hides)), 0.25),
        rests_allowed=tuple(chance.choice((0, 0, 1, 2)) for _ in range(sessions)) if chance.random() < 0.5 else (),
        no_loss=frozenset(some([(p, h) for p in range(people) for h in range(hides)], 0.1)),
        guests=frozenset(some(list(range(people)), 0.1)),
        helpers=some(pairs, 0.04),
        shared=frozenset(some(cells, 0.06)),
        burdens=frozenset(some(cells, 0.2)),
        want_mixing=chance.random() < 0.3,
        consecutive_turns_at_most=chance.choice((None, None, None, 1, 2)),
    )


def _random_hide(chance: Random, index: int, sessions: int) -> ProblemHide:
    seats = tuple(
        ProblemSeat(f"s{i}", chance.randint(1, 5), chance.choice((None, None, None, chance.randint(0, sessions))))
        for i in range(chance.randint(0 if chance.random() < 0.1 else 1, 4))
    )
    return ProblemHide(f"H{index}", seats, chance.choice((1, 1, 1, 1, 2)))


def every_plan(problem: Problem, at_most: int) -> Iterator[Plan] | None:
    """All plans without seats or the leader, pins kept, rules not yet; None when there are more than `at_most`."""
    pinned = {(pin.person, pin.session): pin.hide for pin in problem.pins}
    cells = [(person, s) for s in range(len(problem.sessions)) for person in problem.present(s)]
    choices = [_choices(problem, person, session, pinned) for person, session in cells]
    if prod(len(options) for options in choices) > at_most:
        return None
    leader = tuple({Turn(LEADER, pin.session, pin.hide) for pin in problem.pins if pin.person == LEADER})
    return (_plan(problem, cells, chosen, leader) for chosen in product(*choices))


def _choices(problem: Problem, person: int, session: int, pinned: dict[tuple[int, int], int]) -> list[int | None]:
    hides = range(len(problem.hides))
    found: list[int | None] = [
        h for h in hides if problem.may_sit(person, session, h) and pinned.get((person, session), h) == h
    ]
    may_rest = person in problem.guests or problem.rests(session) > 0
    return [*found, None] if may_rest and (person, session) not in pinned else found


def _plan(
    problem: Problem, cells: list[tuple[int, int]], chosen: tuple[int | None, ...], leader: tuple[Turn, ...]
) -> Plan:
    turns, rests = list(leader), []
    for (person, session), hide in zip(cells, chosen, strict=True):
        if hide is not None:
            turns.append(Turn(person, session, hide))
        elif person not in problem.guests:
            rests.append((person, session))
    return Plan(tuple(turns), tuple(sorted(rests)))
