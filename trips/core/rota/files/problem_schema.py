"""The JSON Schema (draft 2020-12) of a problem file: every key, and what it holds.

Its keys stand in the order in which a reader wants to hear of them: `problem_file` tells the first error alone. What a
schema cannot say (names are known and come once, lengths agree) is checked there.
"""

from typing import Any

from trips.core.rota.problem.values import LIMITS

MOST_NUMBER = 1000  # seats, visits, open hides, rests: more is a slip of the pen, and would only exhaust memory
MOST_POINTS = 100  # points are a percentage
# Control characters, halves of a character, breaks of line and paragraph: a name is one line of print.
NOT_PRINTED = "[\u0000-\u001f\u007f-\u009f\ud800-\udfff\u2028\u2029]"

Schema = dict[str, Any]
ALWAYS_SAID = ("open_hides_at_once", "visits_at_most")  # limits that every file names; later ones may be missing


def _list_of(items: Schema) -> Schema:
    return {"type": "array", "items": items}


def _entry(*places: Schema) -> Schema:
    return {"type": "array", "minItems": len(places), "maxItems": len(places), "prefixItems": list(places)}


FLAG: Schema = {"type": "boolean"}
COUNT: Schema = {"type": "integer", "minimum": 0, "maximum": MOST_NUMBER}
LIMIT: Schema = {**COUNT, "type": ["integer", "null"]}
SHARE: Schema = {"type": "number", "minimum": 0, "maximum": 1}
NAME: Schema = {"type": "string", "pattern": r"\S", "not": {"pattern": NOT_PRINTED}}
REFERENCE: Schema = {"type": "string"}  # a name of `people`, `sessions` or `hides`
OR_LEADER: Schema = {"type": ["string", "null"]}  # null is the leader
SEAT_NUMBER: Schema = {"type": ["integer", "null"], "minimum": 1}  # counted from 1 within the hide; null: no seat named
# Rows of names: the lists that each place of a row refers to.
RELATIONS = {
    "closed": ("sessions", "hides"),
    "absent": ("people", "sessions"),
    "cannot": ("people", "hides"),
    "no_loss": ("people", "hides"),
    "owed": ("people", "hides"),
    "together": ("people", "people"),
    "apart": ("people", "people"),
    "sharers": ("people", "people", "sessions"),
    "cannot_then": ("people", "sessions", "hides"),  # null of a leader who drives
    "half_together": ("people", "people"),
    "helpers": ("people", "people"),
    "shared": ("sessions", "hides"),
    "burdens": ("sessions", "hides"),
    "possible": ("sessions", "hides"),
    "frozen": ("sessions", "hides"),
    "stays": ("people", "sessions", "hides"),
    "good": ("people", "sessions", "hides"),
}
ALWAYS_ROWS = ("closed", "absent", "cannot", "together", "apart")  # these stand in every file, even empty
OF_LEADER_TOO = ("cannot_then",)
PAIRS = ("together", "apart", "half_together")  # of two different people, in either order
KINDS = ("early", "midday", "late", "night")


def _rows_of(key: str) -> Schema:
    first = OR_LEADER if key in OF_LEADER_TOO else REFERENCE
    return _list_of(_entry(first, *[REFERENCE] * (len(RELATIONS[key]) - 1)))


def _pin() -> Schema:
    return {**_entry(OR_LEADER, REFERENCE, REFERENCE, SEAT_NUMBER), "minItems": 3}


def _object(required: Schema, optional: Schema) -> Schema:
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(required),
        "properties": {**required, **optional},
    }


SEAT = _object(
    {"name": NAME, "quality": {"type": "integer", "minimum": 1, "maximum": 5}},
    {"out_from": {"type": ["string", "null"]}},
)
ISSUED = _object(
    {
        "turns": _list_of(_entry(OR_LEADER, REFERENCE, REFERENCE, SEAT_NUMBER, FLAG, COUNT)),
        "rests": _list_of(_entry(REFERENCE, REFERENCE)),
    },
    {},
)
PROBLEM_SCHEMA: Schema = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "A rota problem in numbers",
    **_object(
        required={
            "name": NAME,
            "people": _list_of(NAME),
            "sessions": _list_of(NAME),
            "hides": _list_of(
                _object({"name": NAME, "capacity": COUNT, "minimum_people": COUNT}, {"seats": _list_of(SEAT)})
            ),
            **dict.fromkeys(ALWAYS_SAID, LIMIT),
            "never_twice_running": FLAG,
            "leader": {"enum": ["never", "spare_seats", "coaching"]},
            "tolerance": SHARE,
            **{key: _rows_of(key) for key in ALWAYS_ROWS},
            "pins": _list_of(_pin()),
            "points": _list_of(_list_of(_list_of({"type": "number", "minimum": 0, "maximum": MOST_POINTS}))),
            "visit_loss": _list_of(SHARE),
        },
        optional={
            **{name: LIMIT for name in LIMITS if name not in ALWAYS_SAID},
            "joined": _list_of(_entry(REFERENCE, _list_of(NAME))),
            "in_demand": _list_of(NAME),
            "rests_allowed": _list_of(_entry(REFERENCE, COUNT)),
            **{key: _rows_of(key) for key in RELATIONS if key not in ALWAYS_ROWS},
            "want_mixing": FLAG,
            "guests": _list_of(NAME),
            "kinds": _list_of({"enum": list(KINDS)}),
            "past": COUNT,
            "issued": ISSUED,
            "best_alone": _list_of({"type": "number", "minimum": 0}),
            "repair": {"enum": ["", "fewest", "few", "free"]},
            "optimum": {},
            "reference": {},
        },
    ),
}
