"""Rows into values. Nothing else knows both."""

from trips.assemble.people import gear_value, place_key
from trips.assemble.places import hide_value, point_value, view_value
from trips.assemble.sessions import rules_value, session_value
from trips.assemble.trip import TripValues, trip_values

__all__ = [
    "TripValues",
    "gear_value",
    "hide_value",
    "place_key",
    "point_value",
    "rules_value",
    "session_value",
    "trip_values",
    "view_value",
]
