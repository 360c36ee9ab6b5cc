"""The rota's problem as a JSON file: read and checked."""

import json
import math
from dataclasses import dataclass
from typing import Any, NoReturn
from unicodedata import category

from participants.core.errors import BadShape
from trips.core.rota.problem.values import LIMITS, Pin, Problem, ProblemHide, ProblemSeat

REQUIRED = (
    "name",
    "people",
    "sessions",
    "hides",
    "open_hides_at_once",
    "visits_at_most",
    "never_twice_running",
    "leader",
    "tolerance",
    "closed",
    "absent",
    "cannot",
    "together",
    "apart",
    "pins",
    "points",
    "visit_loss",
)
OPTIONAL = (*LIMITS, "joined", "in_demand", "rests_allowed", "no_loss", "owed", "want_mixing", "optimum", "reference")
LEADER_POLICIES = ("never", "spare_seats", "coaching")
MOST_SEATS = 1000
NOT_PRINTED = ("Cc", "Cs", "Zl", "Zp")  # control characters, halves of a character, breaks of line and paragraph
MOST_POINTS = 100.0


def read_problem(text: str) -> Problem:
    """The problem in a JSON text. Raises BadShape(path, value, reason) for anything that does not fit."""
    try:
        data = json.loads(text, object_pairs_hook=_unique_keys, parse_constant=_no_constant)
    except (ValueError, RecursionError) as fault:
        raise BadShape(path="", value=str(fault)[:200], reason="not_json") from fault
    return problem_from(data)


def problem_from(data: Any) -> Problem:
    """The problem in decoded JSON data. Raises BadShape(path, value, reason)."""
    if not isinstance(data, dict):
        _refuse("", data, "not_an_object")
    _keys(data, "", REQUIRED, OPTIONAL)
    names = _Names(
        people=_names(data["people"], "people"),
        sessions=_names(data["sessions"], "sessions"),
        hides=_names(
            [_hide_name(hide, f"hides[{i}]") for i, hide in enumerate(_list(data["hides"], "hides"))], "hides"
        ),
    )
    limits: dict[str, Any] = {name: _limit(data.get(name), name) for name in LIMITS}
    return Problem(
        name=_text(data["name"], "name"),
        people=tuple(names.people),
        sessions=tuple(names.sessions),
        hides=tuple(_hide(hide, f"hides[{i}]") for i, hide in enumerate(data["hides"])),
        points=_points(data["points"], names),
        **limits,
        never_twice_running=_flag(data["never_twice_running"], "never_twice_running"),
        leader=_one_of(data["leader"], "leader", LEADER_POLICIES),
        tolerance=_number(data["tolerance"], "tolerance", 0.0, 1.0),
        want_mixing=_flag(data.get("want_mixing", False), "want_mixing"),
        visit_loss=_visit_loss(data["visit_loss"]),
        **_relations(data, names),
    )


@dataclass(frozen=True, slots=True)
class _Names:
    people: dict[str, int]
    sessions: dict[str, int]
    hides: dict[str, int]


def _refuse(path: str, value: Any, reason: str) -> NoReturn:
    shown = value if isinstance(value, str | int | float | bool | type(None)) else type(value).__name__
    raise BadShape(path=path, value=shown[:200] if isinstance(shown, str) else shown, reason=reason)


def _unique_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            _refuse(key, key, "key_twice")
        found[key] = value
    return found


def _no_constant(name: str) -> NoReturn:
    _refuse("", name, "not_a_number")


def _keys(data: dict[str, Any], path: str, required: tuple[str, ...], optional: tuple[str, ...]) -> None:
    before = f"{path}." if path else ""
    for key in data:
        if key not in required and key not in optional:
            _refuse(f"{before}{key}", key, "unknown_key")
    for key in required:
        if key not in data:
            _refuse(f"{before}{key}", None, "missing")


def _list(value: Any, path: str) -> list[Any]:
    if not isinstance(value, list):
        _refuse(path, value, "not_a_list")
    return value


def _text(value: Any, path: str) -> str:
    if not isinstance(value, str) or not value.strip():
        _refuse(path, value, "not_a_name")
    if any(category(letter) in NOT_PRINTED for letter in value):
        _refuse(path, value, "not_printable")
    return value


def _flag(value: Any, path: str) -> bool:
    if not isinstance(value, bool):
        _refuse(path, value, "not_true_or_false")
    return value


def _whole(value: Any, path: str, low: int, high: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        _refuse(path, value, "not_a_whole_number")
    if not low <= value <= high:
        _refuse(path, value, "out_of_range")
    return value


def _number(value: Any, path: str, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        _refuse(path, value, "not_a_number")
    if isinstance(value, float) and not math.isfinite(value):
        _refuse(path, str(value), "not_a_number")
    if not low <= value <= high:
        _refuse(path, value, "out_of_range")
    return float(value)


def _limit(value: Any, path: str) -> int | None:
    return None if value is None else _whole(value, path, 0, MOST_SEATS)


def _one_of(value: Any, path: str, allowed: tuple[str, ...]) -> str:
    if not isinstance(value, str) or value not in allowed:
        _refuse(path, value, "not_one_of_those_allowed")
    return value


def _names(value: Any, path: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for index, name in enumerate(_list(value, path)):
        if _text(name, f"{path}[{index}]") in found:
            _refuse(f"{path}[{index}]", name, "name_twice")
        found[name] = index
    return found


def _hide_name(hide: Any, path: str) -> Any:
    if not isinstance(hide, dict):
        _refuse(path, hide, "not_an_object")
    _keys(hide, path, ("name", "capacity", "minimum_people"), ())
    return hide["name"]


def _hide(hide: dict[str, Any], path: str) -> ProblemHide:
    capacity = _whole(hide["capacity"], f"{path}.capacity", 0, MOST_SEATS)
    seats = tuple(ProblemSeat(f"{hide['name']}-{number}") for number in range(1, capacity + 1))
    minimum = _whole(hide["minimum_people"], f"{path}.minimum_people", 0, MOST_SEATS)
    return ProblemHide(name=hide["name"], seats=seats, minimum_people=minimum)


def _points(value: Any, names: _Names) -> tuple[tuple[tuple[float, ...], ...], ...]:
    def row(data: Any, path: str, lengths: tuple[int, ...]) -> tuple[Any, ...]:
        if len(_list(data, path)) != lengths[0]:
            _refuse(path, len(data), "wrong_length")
        if len(lengths) == 1:
            return tuple(_number(entry, f"{path}[{i}]", 0.0, MOST_POINTS) for i, entry in enumerate(data))
        return tuple(row(entry, f"{path}[{i}]", lengths[1:]) for i, entry in enumerate(data))

    return row(value, "points", (len(names.people), len(names.sessions), len(names.hides)))


def _visit_loss(value: Any) -> tuple[float, ...]:
    losses = tuple(_number(loss, f"visit_loss[{i}]", 0.0, 1.0) for i, loss in enumerate(_list(value, "visit_loss")))
    for index in range(1, len(losses)):
        if losses[index] < losses[index - 1]:
            _refuse(f"visit_loss[{index}]", losses[index], "falls")
    return losses


def _index(value: Any, path: str, known: dict[str, int]) -> int:
    if not isinstance(value, str) or value not in known:
        _refuse(path, value, "unknown_name")
    return known[value]


def _tuples(value: Any, path: str, known: tuple[dict[str, int], ...]) -> list[tuple[int, ...]]:
    found = []
    for row, entry in enumerate(_list(value, path)):
        if not isinstance(entry, list) or len(entry) != len(known):
            _refuse(f"{path}[{row}]", entry, "wrong_length")
        found.append(tuple(_index(name, f"{path}[{row}][{i}]", known[i]) for i, name in enumerate(entry)))
    return found


def _relations(data: dict[str, Any], names: _Names) -> dict[str, Any]:
    people, sessions, hides = names.people, names.sessions, names.hides
    return {
        "closed": frozenset(_tuples(data["closed"], "closed", (sessions, hides))),
        "absent": frozenset(_tuples(data["absent"], "absent", (people, sessions))),
        "cannot": frozenset(_tuples(data["cannot"], "cannot", (people, hides))),
        "together": _pairs(data["together"], "together", people),
        "apart": _pairs(data["apart"], "apart", people),
        "pins": _pins(data["pins"], names),
        "joined": _joined(data.get("joined", []), names),
        "in_demand": _in_demand(data.get("in_demand", []), hides),
        "rests_allowed": _rests(data.get("rests_allowed", []), names),
        "no_loss": frozenset(_tuples(data.get("no_loss", []), "no_loss", (people, hides))),
        "owed": frozenset(_tuples(data.get("owed", []), "owed", (people, hides))),
    }


def _in_demand(value: Any, hides: dict[str, int]) -> tuple[int, ...]:
    return tuple(sorted(_index(name, f"in_demand[{i}]", hides) for i, name in enumerate(_names(value, "in_demand"))))


def _pairs(value: Any, path: str, people: dict[str, int]) -> tuple[tuple[int, int], ...]:
    found = set()
    for row, (one, other) in enumerate(_tuples(value, path, (people, people))):
        if one == other:
            _refuse(f"{path}[{row}]", value[row][0], "same_person_twice")
        found.add((min(one, other), max(one, other)))
    return tuple(sorted(found))


def _pins(value: Any, names: _Names) -> tuple[Pin, ...]:
    chosen: dict[tuple[int, int], int] = {}
    for row, (person, session, hide) in enumerate(_tuples(value, "pins", (names.people, names.sessions, names.hides))):
        if chosen.setdefault((person, session), hide) != hide:
            _refuse(f"pins[{row}]", value[row][2], "pinned_twice")
    return tuple(Pin(person, session, hide) for (person, session), hide in sorted(chosen.items()))


def _rests(value: Any, names: _Names) -> tuple[int, ...]:
    allowed: dict[int, int] = {}
    for row, entry in enumerate(_list(value, "rests_allowed")):
        path = f"rests_allowed[{row}]"
        if not isinstance(entry, list) or len(entry) != 2:
            _refuse(path, entry, "wrong_length")
        session = _index(entry[0], f"{path}[0]", names.sessions)
        if session in allowed:
            _refuse(f"{path}[0]", entry[0], "name_twice")
        allowed[session] = _whole(entry[1], f"{path}[1]", 0, MOST_SEATS)
    return tuple(allowed.get(session, 0) for session in range(len(names.sessions))) if allowed else ()


def _joined(value: Any, names: _Names) -> tuple[tuple[int, tuple[int, ...]], ...]:
    found: list[tuple[int, tuple[int, ...]]] = []
    taken: set[tuple[int, int]] = set()
    for row, entry in enumerate(_list(value, "joined")):
        path = f"joined[{row}]"
        if not isinstance(entry, list) or len(entry) != 2:
            _refuse(path, entry, "wrong_length")
        hide = _index(entry[0], f"{path}[0]", names.hides)
        sessions = _names(entry[1], f"{path}[1]")
        group = tuple(sorted(_index(name, f"{path}[1][{i}]", names.sessions) for i, name in enumerate(sessions)))
        if taken & {(hide, session) for session in group}:
            _refuse(path, entry[0], "joined_twice")
        taken |= {(hide, session) for session in group}
        found.append((hide, group))
    return tuple(sorted(found))
