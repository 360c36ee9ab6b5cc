"""Bytes of a trip file to plain JSON values, whatever the bytes are."""

import json
import math
from typing import Any, NoReturn
from uuid import UUID, uuid5

from trips.core.rota.search.outcome import SearchTime
from trips.models.site import NAMELESS_VIEW
from trips.services.trip_file.problems import FileFault, TripFileRefused, path_words
from trips.services.trip_file.tables import GONE_COLUMNS, OLD_COLUMNS, OLD_TABLES

OLD_NAMELESS_VIEW = "window"
LARGEST_BYTES = 32 * 1024 * 1024  # far beyond the largest trip; it is read into memory whole
DEEPEST = 40  # far deeper than our own files go


def parse_trip_file(content: bytes) -> dict[str, Any]:
    """The values in a trip file; raises TripFileRefused for anything that is not one JSON object in UTF-8."""
    if len(content) > LARGEST_BYTES:
        _refuse("", f"is larger than the {LARGEST_BYTES // 1024 // 1024} MB that a trip file may have")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        _refuse("", f"is not UTF-8 text (byte {wrong.start})")
    if not text.strip():
        _refuse("", "is empty")
    data = _parsed(text)
    if not isinstance(data, dict):
        _refuse("", "should hold one object, written in { }")
    problems = _unstorable(data)
    if problems:
        raise TripFileRefused(problems)
    _name_efforts(data)
    _note_outs(data)
    _name_views(data)
    for table, columns in GONE_COLUMNS.items():
        if isinstance(data.get(table), dict):
            data[table] = {name: value for name, value in data[table].items() if name not in columns}
    return _with_new_names(data)


def _with_new_names(data: dict[str, Any]) -> dict[str, Any]:
    """The values under the names of today, whenever the file was written; what has both names keeps both."""
    renamed: dict[str, Any] = _renamed(data, OLD_TABLES)
    for table in OLD_COLUMNS.keys() & renamed.keys():
        renamed[table] = _renamed(renamed[table], OLD_COLUMNS[table])
    return renamed


def _renamed(found: Any, names: dict[str, str]) -> Any:
    if isinstance(found, list):
        return [_renamed(row, names) for row in found]
    if not isinstance(found, dict):
        return found
    return {names[key] if key in names and names[key] not in found else key: value for key, value in found.items()}


def _name_efforts(data: dict[str, Any]) -> None:
    """A file from before search times had words holds a number of effort in rotas and runs; 0 stood for none."""
    for table in ("rotas", "makings"):
        for row in rows if isinstance(rows := data.get(table), list) else ():
            if isinstance(row, dict) and type(row.get("effort")) is int and "search_time" not in row:
                effort = row.pop("effort")
                if effort > 0:
                    row["search_time"] = SearchTime.of_effort(effort).value


def _note_outs(data: dict[str, Any]) -> None:
    """A file from before the day was noted holds a row for each person out: now a happening for each of its ticks."""
    outs = data.get("outs")
    if not isinstance(outs, list) or not all(isinstance(row, dict) and _is_uuid(row.get("uuid")) for row in outs):
        return
    of_now = data.setdefault("happenings", [])
    for row in data.pop("outs"):
        who = {name: row[name] for name in ("session", "place", "leader", "hide") if name in row}
        of_now += [
            who | {"uuid": str(uuid5(UUID(row["uuid"]), kind)), "kind": kind, "at": at, "by": row.get("ticked_by")}
            for kind in ("out", "back")
            if (at := row.get(f"{kind}_at")) is not None
        ]


def _is_uuid(text: Any) -> bool:
    try:
        return isinstance(text, str) and bool(UUID(text))
    except ValueError:
        return False


def _name_views(data: dict[str, Any]) -> None:
    """A file from before called a view without a name "window"; a hide that has a "view" too keeps both names."""
    views = [row for row in rows if isinstance(row, dict)] if isinstance(rows := data.get("views"), list) else []
    taken = {str(row.get("hide")) for row in views if row.get("name") == NAMELESS_VIEW}
    for row in views:
        if row.get("name") == OLD_NAMELESS_VIEW and str(row.get("hide")) not in taken:
            row["name"] = NAMELESS_VIEW


def _parsed(text: str) -> Any:
    try:
        return json.loads(text, parse_constant=_no_number, object_pairs_hook=_object)
    except TripFileRefused:
        raise
    except json.JSONDecodeError as wrong:
        _refuse("", f"is not JSON: it breaks at line {wrong.lineno}, column {wrong.colno}")
    except RecursionError:
        _refuse("", "has lists within lists too deep to read")
    except ValueError:  # Python refuses to read a whole number of more than some thousand digits
        _refuse("", "holds a number with too many digits")


def _refuse(path: str, reason: str) -> NoReturn:
    raise TripFileRefused([FileFault(path, reason if path else f"the file {reason}")])


def _no_number(name: str) -> NoReturn:
    raise TripFileRefused([FileFault("", f"the file holds {name}, which is no number")])


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise TripFileRefused([FileFault("", "stands twice in one object", twice)])
    return found


def _unstorable(data: Any) -> list[FileFault]:
    """Values that JSON may hold and no database can: endless numbers, half characters, NUL, endless depth."""
    problems: list[FileFault] = []
    waiting: list[tuple[tuple[Any, ...], Any]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        if len(path) > DEEPEST:
            return [FileFault(path_words(path[:4]), "has lists within lists too deep to read")]
        if isinstance(value, dict):
            problems += [FileFault(path_words(path), reason, key) for key in value if (reason := _bad_text(key))]
            waiting += [((*path, key), entry) for key, entry in value.items()]
        elif isinstance(value, list):
            waiting += [((*path, index), entry) for index, entry in enumerate(value)]
        elif isinstance(value, str) and (reason := _bad_text(value)):
            problems.append(FileFault(path_words(path), reason, value))
        elif isinstance(value, int | float) and not _is_finite(value):
            problems.append(FileFault(path_words(path), "holds a number too large to store"))
    return problems[::-1]


def _bad_text(text: str) -> str:
    if "\0" in text:
        return "holds the character U+0000, which cannot be stored"
    return "" if text.isascii() or _has_utf8(text) else "holds half of a character pair, which cannot be stored"


def _has_utf8(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _is_finite(number: float) -> bool:
    try:
        return math.isfinite(number)
    except OverflowError:
        return False
