"""A problem as the text of a problem file, with its own names or without any."""

import json
import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from trips.core.rota.files.problem_schema import ALWAYS_ROWS, NOT_PRINTED, RELATIONS
from trips.core.rota.problem.values import LEADER, LIMITS, NO_SEAT, Plan, Problem, ProblemHide

_ALWAYS = ("never_twice_running", "leader", "tolerance")
_WHERE_SET = ("want_mixing", "kinds", "past", "best_alone", "repair")  # as they are, where they are not the default


def problem_text(problem: Problem) -> str:
    """A problem file that reads back as the same problem; a key a line, so that two files can be compared.

    Names that a file cannot hold are changed first: see `tellable`. `notes` are left out.
    """
    lines = []
    for key, value in problem_data(tellable(problem)).items():
        text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
        if key == "points":
            text = "[\n" + ",\n".join(json.dumps(row, separators=(",", ":")) for row in value) + "\n]"
        lines.append(f"{json.dumps(key)}:{text}")
    return "{" + ",\n".join(lines) + "}\n"


def anonymous(problem: Problem) -> Problem:
    """The same problem, whose people, hides, seats, sessions and trip are numbers: P1, H1, H1-1, S1."""
    return replace(
        problem,
        name="trip",
        people=tuple(f"P{number}" for number in range(1, len(problem.people) + 1)),
        sessions=tuple(f"S{number}" for number in range(1, len(problem.sessions) + 1)),
        hides=tuple(_numbered(hide, number) for number, hide in enumerate(problem.hides, start=1)),
        notes={},
    )


def tellable(problem: Problem) -> Problem:
    """The same problem with names that are printable on one line and differ from each other within their list."""
    hides = _told((hide.name for hide in problem.hides), "hide")
    return replace(
        problem,
        name=_told([problem.name], "trip")[0],
        people=_told(problem.people, "person"),
        sessions=_told(problem.sessions, "session"),
        hides=tuple(
            replace(
                hide,
                name=name,
                seats=tuple(replace(seat, name=_told([seat.name], "seat")[0]) for seat in hide.seats),
            )
            for hide, name in zip(problem.hides, hides, strict=True)
        ),
    )


def problem_data(problem: Problem) -> dict[str, Any]:
    """A problem as the JSON data of a file; optional keys that say nothing are left out."""
    names = {
        "people": problem.people,
        "sessions": problem.sessions,
        "hides": tuple(hide.name for hide in problem.hides),
    }
    rows = {
        key: [
            [None if index == LEADER else names[of][index] for of, index in zip(RELATIONS[key], row, strict=True)]
            for row in _sorted(problem, key)
        ]
        for key in RELATIONS
    }
    always = {
        "name": problem.name,
        "people": list(problem.people),
        "sessions": list(problem.sessions),
        "hides": [_hide(problem, hide) for hide in problem.hides],
        **{name: getattr(problem, name) for name in (*LIMITS, *_ALWAYS)},
        "visit_loss": list(problem.visit_loss),
        **{key: rows.pop(key) for key in ALWAYS_ROWS},
        "pins": [
            [*_place(names, pin.person, pin.session, pin.hide), *([] if pin.seat == NO_SEAT else [pin.seat + 1])]
            for pin in problem.pins
        ],
    }
    told = {
        **rows,
        "joined": [[names["hides"][hide], [names["sessions"][s] for s in group]] for hide, group in problem.joined],
        "in_demand": [names["hides"][hide] for hide in problem.in_demand],
        "guests": [names["people"][person] for person in sorted(problem.guests)],
        "rests_allowed": [[names["sessions"][s], allowed] for s, allowed in enumerate(problem.rests_allowed)],
        "issued": None if problem.issued is None else _issued(problem.issued, names),
        **{name: getattr(problem, name) for name in _WHERE_SET},
    }
    return always | {key: value for key, value in told.items() if value} | {"points": problem.points}


def _numbered(hide: ProblemHide, number: int) -> ProblemHide:
    seats = tuple(replace(seat, name=f"H{number}-{place}") for place, seat in enumerate(hide.seats, start=1))
    return replace(hide, name=f"H{number}", seats=seats)


def _told(names: Iterable[str], otherwise: str) -> tuple[str, ...]:
    told: list[str] = []
    for number, name in enumerate(names, start=1):
        plain = re.sub(NOT_PRINTED, " ", name)
        plain = plain if plain.strip() else f"{otherwise} {number}"
        further, again = plain, 1
        while further in told:
            again += 1
            further = f"{plain} ({again})"
        told.append(further)
    return tuple(told)


def _sorted(problem: Problem, key: str) -> list[tuple[int, ...]]:
    found = getattr(problem, key)
    return sorted(found) if isinstance(found, frozenset) else list(found)


def _hide(problem: Problem, hide: ProblemHide) -> dict[str, Any]:
    seats: list[dict[str, Any]] = []
    for seat in hide.seats:
        seats.append({"name": seat.name, "quality": seat.quality})
        if seat.out_from is not None and seat.out_from < len(problem.sessions):
            seats[-1]["out_from"] = problem.sessions[seat.out_from]
    return {"name": hide.name, "capacity": len(seats), "minimum_people": hide.minimum_people, "seats": seats}


def _place(names: dict[str, tuple[str, ...]], person: int, session: int, hide: int) -> list[str | None]:
    who = None if person == LEADER else names["people"][person]
    return [who, names["sessions"][session], names["hides"][hide]]


def _issued(plan: Plan, names: dict[str, tuple[str, ...]]) -> dict[str, Any]:
    return {
        "turns": [
            [
                *_place(names, turn.person, turn.session, turn.hide),
                None if turn.seat == NO_SEAT else turn.seat + 1,
                turn.stays,
                turn.part,
            ]
            for turn in plan.turns
        ],
        "rests": [[names["people"][person], names["sessions"][session]] for person, session in plan.rests],
    }
