"""Rows into values. Nothing else knows both."""

from trips.assemble.people import kit_value, limit_values, place_key, wishes_value
from trips.assemble.places import hide_value, point_value, seat_value, subject_value, view_value
from trips.assemble.points import PointsTable, points_table
from trips.assemble.rota import RepairFrom, RotaInputs, openable, plan_of, rota_inputs
from trips.assemble.sessions import forecast_value, rules_value, session_value
from trips.assemble.trip import TripValues, trip_values

__all__ = [
    "PointsTable",
    "RepairFrom",
    "RotaInputs",
    "TripValues",
    "forecast_value",
    "hide_value",
    "kit_value",
    "limit_values",
    "openable",
    "place_key",
    "plan_of",
    "point_value",
    "points_table",
    "rota_inputs",
    "rules_value",
    "seat_value",
    "session_value",
    "subject_value",
    "trip_values",
    "view_value",
    "wishes_value",
]
