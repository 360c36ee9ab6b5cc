"""The JSON Schema of trip files: made from the rows, kept in the repository, and what every file is held against."""

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from django.db import models as fields
from jsonschema import Draft202012Validator

from trips.services.trip_file.problems import FileFault, path_words
from trips.services.trip_file.tables import FORMAT, FORMAT_VERSION, HEAD_KEYS, TABLES, FileTable

SCHEMA_PATH = Path(__file__).resolve().parents[2] / "trip_file.schema.json"
UUID_PATTERN = "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
DAY_PATTERN = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
CLOCK_PATTERN = r"^[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?$"
MOMENT_PATTERN = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:[0-9]{2})?$"
PATTERN_WORDS = {
    UUID_PATTERN: "is no uuid in small letters (8-4-4-4-12 digits and letters a-f)",
    DAY_PATTERN: "is no day written as 2027-05-08",
    CLOCK_PATTERN: "is no clock time written as 18:00",
    MOMENT_PATTERN: "is no moment written as 2027-05-08T06:45:00+02:00",
}
# The ranges that both databases can store.
WHOLE_NUMBERS = {
    "PositiveSmallIntegerField": (0, 32767),
    "PositiveIntegerField": (0, 2147483647),
}
FACTOR = {"type": "number", "minimum": 0, "maximum": 1}
# What lies inside a JSON column, where that is fixed.
SHAPES: dict[str, Any] = {
    "views.horizon": {"type": "array", "items": {"type": "array", "items": {"type": "number"}}},
    "subjects.other_names": {"type": "object"},
    "hide_subjects.months": {"type": "array", "items": {"type": "integer", "minimum": 1, "maximum": 12}},
    "rules.visit_loss": {"type": "array", "items": FACTOR, "minItems": 1},
    "rules.height_scoring": {
        "type": "array",
        "minItems": 1,
        "items": {"type": "array", "prefixItems": [{"type": "number"}, FACTOR], "minItems": 2, "maxItems": 2},
    },
    "rules.wish_scoring": {
        "type": "object",
        "properties": {
            wish: {"type": "array", "items": FACTOR, "minItems": 4, "maxItems": 4} for wish in ("front", "side", "back")
        },
        "required": ["front", "side", "back"],
        "additionalProperties": False,
    },
    "rules.reach_factors": {"type": "object", "additionalProperties": FACTOR},
}


def make_schema() -> dict[str, Any]:
    """The schema as the rows have it now."""
    uuid = {"type": "string", "pattern": UUID_PATTERN}
    leader = {"type": "string", "minLength": 1, "maxLength": 150}
    person = {
        "type": "object",
        "properties": {
            "username": leader,
            "first_name": {"type": "string", "maxLength": 150},
            "last_name": {"type": "string", "maxLength": 150},
            "phone": {"type": "string", "maxLength": 60},
        },
        "required": ["username"],
        "additionalProperties": False,
    }
    tables = {
        table.name: {"anyOf": [{"$ref": f"#/$defs/{table.name}"}, {"type": "null"}]}
        if table.name == "rules"
        else {"$ref": f"#/$defs/{table.name}"}
        if table.single
        else {"type": "array", "items": {"$ref": f"#/$defs/{table.name}"}}
        for table in TABLES
    }
    head = {
        "format": {"const": FORMAT},
        "format_version": {"const": FORMAT_VERSION},
        "health_notes_included": {"type": "boolean"},
        "leaders": {"type": "array", "items": person},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "One trip: people, gear, sites, hides, wishes, sessions, rotas and log",
        "type": "object",
        "properties": head | tables,
        "required": [*HEAD_KEYS, "trip"],
        "additionalProperties": False,
        "$defs": {"uuid": uuid, "leader": leader} | {table.name: _row_schema(table) for table in TABLES},
    }


def schema_text() -> str:
    """The schema as its file holds it."""
    return json.dumps(make_schema(), indent=1, ensure_ascii=False) + "\n"


@cache
def _validator() -> Draft202012Validator:
    return Draft202012Validator(json.loads(SCHEMA_PATH.read_text(encoding="utf-8")))


def schema_problems(data: Any) -> Iterator[FileFault]:
    """Where the data do not fit the schema."""
    for error in _validator().iter_errors(data):
        yield from _problems_of(error)


def _row_schema(table: FileTable) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    required = []
    for column in table.columns:
        properties[column.name] = _column_schema(table, column)
        if column.name == "uuid" or not (
            column.has_default() or column.null or column.blank or getattr(column, "auto_now", False)
        ):
            required.append(column.name)
    for name, target in table.lists.items():
        ref = "leader" if target == "leaders" else "uuid"
        properties[name] = {"type": "array", "items": {"$ref": f"#/$defs/{ref}"}, "uniqueItems": True}
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": False}


def _column_schema(table: FileTable, column: Any) -> dict[str, Any]:
    shape = _shape(table, column)
    if not column.null:
        return shape
    if "$ref" in shape:
        return {"anyOf": [shape, {"type": "null"}]}
    return shape | {"type": [shape["type"], "null"]} | ({"enum": [*shape["enum"], None]} if "enum" in shape else {})


def _shape(table: FileTable, column: Any) -> dict[str, Any]:
    kind = column.get_internal_type()
    if column.is_relation:
        return {"$ref": "#/$defs/leader" if table.references[column.name] == "leaders" else "#/$defs/uuid"}
    if kind in WHOLE_NUMBERS:
        low, high = WHOLE_NUMBERS[kind]
        whole: dict[str, Any] = {"type": "integer", "minimum": low, "maximum": high}
        return whole | ({"enum": [value for value, _ in column.choices]} if column.choices else {})
    if isinstance(column, fields.JSONField):
        return SHAPES.get(f"{table.name}.{column.name}") or {
            "type": "array" if column.get_default() == [] else "object"
        }
    return _PLAIN[kind] if kind in _PLAIN else _text_schema(column)


_PLAIN: dict[str, dict[str, Any]] = {
    "UUIDField": {"type": "string", "pattern": UUID_PATTERN},
    "FloatField": {"type": "number"},
    "BooleanField": {"type": "boolean"},
    "DateField": {"type": "string", "pattern": DAY_PATTERN},
    "TimeField": {"type": "string", "pattern": CLOCK_PATTERN},
    "DateTimeField": {"type": "string", "pattern": MOMENT_PATTERN},
}


def _text_schema(column: Any) -> dict[str, Any]:
    text: dict[str, Any] = {"type": "string"}
    if column.choices:
        return text | {"enum": ([""] if column.blank else []) + [value for value, _ in column.choices if value != ""]}
    if column.max_length:
        text["maxLength"] = column.max_length
    return text if column.blank else text | {"minLength": 1}


TYPE_WORDS = {
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "array": "a list",
    "object": "an object",
    "null": "null",
}


def _problems_of(error: Any) -> Iterator[FileFault]:
    path = path_words(error.absolute_path)
    found = error.instance
    if error.validator == "anyOf":
        # Only "a row or null" and "a uuid or null" stand in the schema so: what the first says is meant.
        for inner in error.context or []:
            if inner.schema_path and inner.schema_path[0] == 0:
                yield from _problems_of(inner)
    elif error.validator == "required":
        missing = error.message.split("'")[1]  # the library names it nowhere else
        yield FileFault(path, f'lacks "{missing}"')
    elif error.validator == "additionalProperties" and isinstance(error.validator_value, bool):
        for key in sorted(set(found) - set(error.schema["properties"])):
            yield FileFault(f"{path}.{key}" if path else key, "is a key that trip files do not have", found[key])
    else:
        yield FileFault(path, _reason(error), found)


def _reason(error: Any) -> str:
    wanted = error.validator_value
    if error.validator == "type":
        kinds = [wanted] if isinstance(wanted, str) else wanted
        return "should be " + " or ".join(TYPE_WORDS[kind] for kind in kinds)
    if error.validator == "enum":
        return "is none of " + ", ".join(json.dumps(value, ensure_ascii=False) for value in wanted)
    if error.validator == "const":
        return f"should be {json.dumps(wanted)}"
    reasons = {
        "pattern": lambda: PATTERN_WORDS[wanted],
        "minimum": lambda: f"is less than {wanted}",
        "maximum": lambda: f"is more than {wanted}",
        "minLength": lambda: "must not be empty",
        "maxLength": lambda: f"is longer than {wanted} characters",
        "minItems": lambda: f"has fewer than {wanted} entries",
        "maxItems": lambda: f"has more than {wanted} entries",
        "uniqueItems": lambda: "names something twice",
    }
    return reasons[str(error.validator)]()
