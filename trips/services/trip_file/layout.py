"""How a trip file looks: fixed order, one row a line, so that two files can be compared line by line."""

import json
from typing import Any


def file_bytes(data: dict[str, Any]) -> bytes:
    """The file of `data`: keys as given, rows as given, what lies deeper by key. Ends with a newline; UTF-8."""
    parts = [f"{_text(key)}: {_block(value)}" for key, value in data.items()]
    return ("{\n" + ",\n".join(parts) + "\n}\n").encode("utf-8")


def _block(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(f" {_row(row)}" for row in value) + "\n]"
    return _row(value)


def _row(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(key)}: {_text(entry)}" for key, entry in value.items()) + "}"
    return _text(value)


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, sort_keys=True)
