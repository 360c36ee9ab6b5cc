"""New uuids for everything in a trip file, also inside what was issued."""

import re
from itertools import product
from typing import Any
from uuid import UUID, uuid4

from trips.documents.ical import calendar_uid, day_uid, hide_session_uid, person_session_uid
from trips.services.trip_file.tables import TABLES

_UUID = re.compile("[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
DAYS = ("arrival", "departure", "trip")


def with_new_uuids(data: dict[str, Any]) -> dict[str, Any]:
    """The same trip under new uuids; entries of calendars get the identity that the new uuids give them."""
    rows = {
        table.name: [found] if table.single and (found := data.get(table.name)) else data.get(table.name) or []
        for table in TABLES
    }
    new = {row["uuid"]: str(uuid4()) for table in rows.values() for row in table}
    derived = _calendar_identities(rows, new) if rows["issues"] else {}
    renamed: dict[str, Any] = _renamed(data, new | derived)
    return renamed


def _renamed(value: Any, new: dict[str, str]) -> Any:
    if isinstance(value, dict):
        return {_renamed(key, new): _renamed(entry, new) for key, entry in value.items()}
    if isinstance(value, list):
        return [_renamed(entry, new) for entry in value]
    if isinstance(value, str):
        return _UUID.sub(lambda found: new.get(found.group(), found.group()), value)
    return value


def _calendar_identities(rows: dict[str, list[dict[str, Any]]], new: dict[str, str]) -> dict[str, str]:
    places, hides, sessions = (
        [(UUID(row["uuid"]), UUID(new[row["uuid"]])) for row in rows[name]] for name in ("places", "hides", "sessions")
    )
    old_trip, new_trip = UUID(rows["trip"][0]["uuid"]), UUID(new[rows["trip"][0]["uuid"]])
    found: dict[str, str] = {calendar_uid(old_trip): calendar_uid(new_trip)}
    for place, session in product(places, sessions):
        found[person_session_uid(old_trip, place[0], session[0])] = person_session_uid(new_trip, place[1], session[1])
    for hide, session in product(hides, sessions):
        found[hide_session_uid(old_trip, hide[0], session[0])] = hide_session_uid(new_trip, hide[1], session[1])
    for old, fresh in [(None, None), *places]:
        found[calendar_uid(old_trip, old)] = calendar_uid(new_trip, fresh)
        for day in DAYS:
            found[day_uid(old_trip, day, old)] = day_uid(new_trip, day, fresh)
    return found
