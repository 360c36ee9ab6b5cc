"""What to set and when, what to carry: a card for a person, a view and a session, each value with its reason.

Starting points, not promises: the light is quoted to a stop either way. Speeds are from memory except the head turn.
"""

from trips.core.advice.card import advise
from trips.core.advice.clock import compensation_stops
from trips.core.advice.dial import iso_needed, longest_shutter_s, marked_f_number, marked_iso, marked_shutter
from trips.core.advice.lines import SPEED_M_S
from trips.core.advice.values import Advice, Carry, Depth, Line, Row, Setting, ShutterStep, Situation, Why
