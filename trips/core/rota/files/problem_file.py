"""A problem file read: held against its schema, then names turned into indices."""

import json
from typing import Any, NoReturn

from jsonschema import Draft202012Validator

from participants.core.errors import BadShape
from trips.core.rota.files.problem_schema import PAIRS, PROBLEM_SCHEMA, RELATIONS
from trips.core.rota.problem.values import LEADER, LIMITS, NO_SEAT, Pin, Plan, Problem, ProblemHide, ProblemSeat, Turn

Indices = dict[str, int]  # a name and its place in the list of names
# The kind of refusal for what the schema can refuse: a wanted type, or another of its keywords.
REASONS = {
    "object": "not_an_object",
    "array": "not_a_list",
    "string": "not_a_name",
    "boolean": "not_true_or_false",
    "integer": "not_a_whole_number",
    "number": "not_a_number",
    "additionalProperties": "unknown_key",
    "required": "missing",
    "enum": "not_one_of_those_allowed",
    "minimum": "out_of_range",
    "maximum": "out_of_range",
    "minItems": "wrong_length",
    "maxItems": "wrong_length",
    "pattern": "not_a_name",
    "not": "not_printable",
}
LONGEST_SHOWN = 200  # characters of a value that a refusal repeats
_VALIDATOR = Draft202012Validator(PROBLEM_SCHEMA)


def read_problem(text: str) -> Problem:
    """The problem in a JSON text. Raises BadShape(path, value, reason) for the first thing that does not fit."""
    try:
        data = json.loads(text, object_pairs_hook=_unique_keys, parse_constant=_no_constant)
        error = next(_VALIDATOR.iter_errors(data), None)
    except (ValueError, RecursionError) as fault:
        raise BadShape(path="", value=str(fault)[:LONGEST_SHOWN], reason="not_json") from fault
    if error is not None:
        _refuse_error(error)
    return _problem(data)


def _unique_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            _refuse(key, key, "key_twice")
        found[key] = value
    return found


def _no_constant(name: str) -> NoReturn:
    _refuse("", name, "not_a_number")


def _refuse(path: str, value: Any, reason: str) -> NoReturn:
    shown = value if isinstance(value, str | int | float | bool | type(None)) else type(value).__name__
    raise BadShape(path=path, value=shown[:LONGEST_SHOWN] if isinstance(shown, str) else shown, reason=reason)


def _refuse_error(error: Any) -> NoReturn:
    keyword, wanted, value = str(error.validator), error.validator_value, error.instance
    path = error.json_path.removeprefix("$")
    if keyword == "type":
        keyword = wanted if isinstance(wanted, str) else wanted[0]
    elif keyword == "additionalProperties":
        value = next(key for key in value if key not in error.schema["properties"])
        path += f".{value}"
    elif keyword == "required":
        path, value = f"{path}.{next(key for key in wanted if key not in value)}", None
    _refuse(path.removeprefix("."), value, REASONS[keyword])


def _problem(data: dict[str, Any]) -> Problem:
    """The problem in data that fit the schema."""
    names = {
        "people": _indices(data["people"], "people"),
        "sessions": _indices(data["sessions"], "sessions"),
        "hides": _indices([hide["name"] for hide in data["hides"]], "hides"),
    }
    points = _points(data["points"], "points", [len(names[key]) for key in ("people", "sessions", "hides")])
    rows = {key: _rows(data.get(key, []), key, [names[of] for of in places]) for key, places in RELATIONS.items()}
    relations = {key: _pairs(rows[key], key) if key in PAIRS else frozenset(rows[key]) for key in RELATIONS}
    relations["sharers"] = _sharers(rows["sharers"])
    return Problem(
        name=data["name"],
        people=tuple(data["people"]),
        sessions=tuple(data["sessions"]),
        hides=tuple(_hide(hide, f"hides[{i}]", names["sessions"]) for i, hide in enumerate(data["hides"])),
        points=points,
        **{name: _whole(data.get(name)) for name in LIMITS},  # type: ignore[arg-type]
        never_twice_running=data["never_twice_running"],
        leader=data["leader"],
        tolerance=float(data["tolerance"]),
        visit_loss=_visit_loss(data["visit_loss"]),
        want_mixing=data.get("want_mixing", False),
        **relations | {"helpers": tuple(rows["helpers"])},  # type: ignore[arg-type]
        pins=_pins(data["pins"], names),
        joined=_joined(data.get("joined", []), names),
        in_demand=_group(data.get("in_demand", []), "in_demand", names["hides"]),
        guests=frozenset(_group(data.get("guests", []), "guests", names["people"])),
        rests_allowed=_rests(data.get("rests_allowed", []), names["sessions"]),
        **_repair(data, names),
    )


def _repair(data: dict[str, Any], names: dict[str, Indices]) -> dict[str, Any]:
    """What a repair starts from, and the lists that go by person or session without naming them."""
    issued, past = data.get("issued"), int(data.get("past", 0))
    for key, of in (("best_alone", "people"), ("kinds", "sessions")):
        if data.get(key) and len(data[key]) != len(names[of]):
            _refuse(key, len(data[key]), "wrong_length")
    if past > len(names["sessions"]):
        _refuse("past", past, "out_of_range")
    if issued is None and (data.get("repair") or past or data.get("frozen")):
        _refuse("issued", None, "missing")
    return {
        "issued": None if issued is None else _issued(issued, names),
        "past": past,
        "repair": data.get("repair", ""),
        "best_alone": tuple(map(float, data["best_alone"])) if "best_alone" in data else None,
        "kinds": tuple(data.get("kinds", ())),
    }


def _issued(data: dict[str, Any], names: dict[str, Indices]) -> Plan:
    turns = []
    for row, (person, session, hide, seat, stays, part) in enumerate(data["turns"]):
        where = _place([person, session, hide], f"issued.turns[{row}]", names)
        turns.append(Turn(*where, _seat(seat), stays, int(part)))
    rests = _rows(data["rests"], "issued.rests", [names["people"], names["sessions"]])
    return Plan(tuple(turns), tuple((person, session) for person, session in rests))


def _place(row: list[str | None], path: str, names: dict[str, Indices]) -> tuple[int, int, int]:
    """Person (null: the leader), session and hide as indices."""
    person, session, hide = row
    return (
        LEADER if person is None else _index(person, f"{path}[0]", names["people"]),
        _index(str(session), f"{path}[1]", names["sessions"]),
        _index(str(hide), f"{path}[2]", names["hides"]),
    )


def _seat(number: float | None) -> int:
    """A seat's index from its number within the hide."""
    return NO_SEAT if number is None else int(number) - 1


def _whole(value: float | None) -> int | None:
    """JSON knows one kind of number: 2.0 is a whole one."""
    return None if value is None else int(value)


def _hide(hide: dict[str, Any], path: str, sessions: Indices) -> ProblemHide:
    capacity = int(hide["capacity"])
    told = hide.get("seats", [{"name": f"{hide['name']}-{number}", "quality": 3} for number in range(1, capacity + 1)])
    if len(told) != capacity:
        _refuse(f"{path}.seats", len(told), "wrong_length")
    seats = []
    for number, seat in enumerate(told):
        out = seat.get("out_from")
        out_from = None if out is None else _index(out, f"{path}.seats[{number}].out_from", sessions)
        seats.append(ProblemSeat(seat["name"], int(seat["quality"]), out_from))
    return ProblemHide(name=hide["name"], seats=tuple(seats), minimum_people=int(hide["minimum_people"]))


def _points(data: Any, path: str, lengths: list[int]) -> Any:
    """The points as nested tuples of these lengths."""
    if not lengths:
        return float(data)
    if len(data) != lengths[0]:
        _refuse(path, len(data), "wrong_length")
    return tuple(_points(entry, f"{path}[{i}]", lengths[1:]) for i, entry in enumerate(data))


def _visit_loss(losses: list[float]) -> tuple[float, ...]:
    for index in range(1, len(losses)):
        if losses[index] < losses[index - 1]:
            _refuse(f"visit_loss[{index}]", losses[index], "falls")
    return tuple(map(float, losses))


def _indices(names: list[str], path: str) -> Indices:
    found: Indices = {}
    for index, name in enumerate(names):
        if name in found:
            _refuse(f"{path}[{index}]", name, "name_twice")
        found[name] = index
    return found


def _index(name: str, path: str, known: Indices) -> int:
    if name not in known:
        _refuse(path, name, "unknown_name")
    return known[name]


def _rows(rows: list[list[str | None]], path: str, known: list[Indices]) -> list[tuple[int, ...]]:
    return [
        tuple(LEADER if name is None else _index(name, f"{path}[{row}][{i}]", known[i]) for i, name in enumerate(names))
        for row, names in enumerate(rows)
    ]


def _group(names: list[str], path: str, known: Indices) -> tuple[int, ...]:
    """Names that come once each, as sorted indices."""
    return tuple(sorted(_index(name, f"{path}[{i}]", known) for name, i in _indices(names, path).items()))


def _pairs(rows: list[tuple[int, ...]], path: str) -> tuple[tuple[int, ...], ...]:
    for row, (one, other) in enumerate(rows):
        if one == other:
            _refuse(f"{path}[{row}]", None, "same_person_twice")
    return tuple(sorted({tuple(sorted(pair)) for pair in rows}))


def _sharers(rows: list[tuple[int, ...]]) -> frozenset[tuple[int, int, int]]:
    _pairs([row[:2] for row in rows], "sharers")  # two different people in each
    return frozenset((min(one, other), max(one, other), session) for one, other, session in rows)


def _pins(rows: list[list[Any]], names: dict[str, Indices]) -> tuple[Pin, ...]:
    chosen: dict[tuple[int, int], Pin] = {}
    for row, (person, session, hide, *seat) in enumerate(rows):
        pin = Pin(*_place([person, session, hide], f"pins[{row}]", names), _seat(seat[0] if seat else None))
        if chosen.setdefault((pin.session, pin.person), pin) != pin:
            _refuse(f"pins[{row}]", None, "pinned_twice")
    return tuple(pin for _, pin in sorted(chosen.items()))


def _rests(rows: list[list[Any]], sessions: Indices) -> tuple[int, ...]:
    for row, (name, _) in enumerate(rows):
        _index(name, f"rests_allowed[{row}][0]", sessions)
        if name in [earlier for earlier, _ in rows[:row]]:
            _refuse(f"rests_allowed[{row}][0]", name, "name_twice")
    allowed = dict(rows)
    return tuple(int(allowed.get(session, 0)) for session in sessions) if allowed else ()


def _joined(rows: list[list[Any]], names: dict[str, Indices]) -> tuple[tuple[int, tuple[int, ...]], ...]:
    found: list[tuple[int, tuple[int, ...]]] = []
    for row, (name, group) in enumerate(rows):
        hide = _index(name, f"joined[{row}][0]", names["hides"])
        sessions = _group(group, f"joined[{row}][1]", names["sessions"])
        if any(hide == other and {*sessions} & {*earlier} for other, earlier in found):
            _refuse(f"joined[{row}]", name, "joined_twice")
        found.append((hide, sessions))
    return tuple(sorted(found))
