"""Rows into values. Nothing else knows both."""

from trips.assemble.people import gear_value, place_key
from trips.assemble.places import hide_value, point_value, view_value
from trips.assemble.sessions import rules_value, session_value
from trips.assemble.trip import TripValues, trip_values
