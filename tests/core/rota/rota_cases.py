"""Small rotas to test with: a camp of four people, three hides and four sessions, and ways to write plans down."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Any

from trips.core.rota.problem.values import LEADER, NO_SEAT, Plan, Problem, ProblemHide, ProblemSeat, Turn

PEOPLE = ("Ada", "Ben", "Cleo", "Dov")
SESSIONS = ("Sat early", "Sat late", "Sun early", "Sun late")
SEATS = {"Alder": 2, "Birch": 2, "Cedar": 1}


def hide(name: str, seats: int, minimum: int = 1, **seat: Any) -> ProblemHide:
    """A hide with so many seats."""
    return ProblemHide(name, tuple(ProblemSeat(f"{name}-{i + 1}", **seat) for i in range(seats)), minimum)


def camp(**changes: Any) -> Problem:
    """Four people, four sessions, five seats; points differ by person, session and hide."""
    people = changes.get("people", PEOPLE)
    sessions = changes.get("sessions", SESSIONS)
    hides = changes.get("hides", tuple(hide(name, seats) for name, seats in SEATS.items()))
    points = tuple(
        tuple(
            tuple(float(20 + (7 * p + 11 * s + 23 * h + p * s * h) % 60) for h in range(len(hides)))
            for s in range(len(sessions))
        )
        for p in range(len(people))
    )
    base = Problem(
        name="camp", people=people, sessions=sessions, hides=hides, points=points, leader="coaching", tolerance=0.0
    )
    return replace(base, **changes)


def plan_of(rows: list[str], *, seats: bool = True, rests: tuple[tuple[int, int], ...] = ()) -> Plan:
    """A plan from one string a session: a letter for each person's hide (A, B, C ..., - none), then the leader's.

    "ABAB" seats four people; a fifth letter seats the leader.
    """
    turns: list[Turn] = []
    for session, row in enumerate(rows):
        taken: dict[str, int] = {}
        for person, letter in enumerate(row[:4] + row[4:]):
            if letter == "-":
                continue
            seat = taken.get(letter, 0)
            taken[letter] = seat + 1
            who = person if person < 4 else LEADER
            turns.append(Turn(who, session, ord(letter) - ord("A"), seat if seats else NO_SEAT))
    return Plan(tuple(turns), tuple(sorted(rests)))


def all_plans(problem: Problem) -> Iterator[Plan]:
    """Every plan in which each present person sits in some hide: for problems of a handful of people."""
    places = [(p, s) for s in range(len(problem.sessions)) for p in problem.present(s)]
    for chosen in product(range(len(problem.hides)), repeat=len(places)):
        yield Plan(tuple(Turn(p, s, h) for (p, s), h in zip(places, chosen, strict=True)))
