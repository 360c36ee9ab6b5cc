"""Gear, a hide and the light of a session, and the card they make."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from participants.core.gear import Body, Gear, Lens, Support
from trips.core.advice import Situation, advise
from trips.core.light import Glance
from trips.core.reach import reach
from trips.core.values import AdviceSettings, Hide, Point, ReachSettings, Seat, Subject, View

BODY = Body("45 MP full-frame body", 36.0, 24.0, 8256, 5504, top_iso=6400)
LENS = Lens("600 mm f/4", 600, 600, 4, 4, near_limit_m=5.2, weight_g=3200)
SPARE = Lens("100-400 mm f/5.6", 100, 400, 5.6, 5.6, near_limit_m=1.5, weight_g=1400)
GEAR = Gear(bodies=(BODY,), lenses=(LENS,), supports=(Support("legs", "tripod"),))
VIEW = View("a", "A", 250, 6.0, 7.0)
HIDE = Hide("h", "A", Point(39.5, -6.2, 300, "Europe/Madrid"), (VIEW,), (Seat("s", "left"),), walk_m=40)
FAR = replace(VIEW, near_m=40.0, far_m=40.0)
STORK = Subject("stork", "White stork", 100, 115, speed="feeding")
SPARROW = Subject("sparrow", "House sparrow", 14, 18, speed="feeding")


START = datetime(2027, 5, 8, 6, 45, tzinfo=ZoneInfo("Europe/Madrid"))


def glances(*evs, light="front", minutes=90):
    """Minute by minute from one EV to the next, on straight lines; None: not known."""
    marks = np.linspace(0, minutes, len(evs))
    known = [None] * (minutes + 1) if None in evs else np.interp(range(minutes + 1), marks, evs).tolist()
    return tuple(Glance(START + timedelta(minutes=at), light, ev) for at, ev in enumerate(known))


def card(gear=GEAR, view=VIEW, subject=SPARROW, evs=(12.0, 12.0), hide=HIDE, **situation):
    """The card for this gear in this light."""
    light = situation.pop("light", None) or glances(*evs)
    where = Situation(hide, view, subject, light, **situation)
    return advise(gear, reach(gear, view, subject, "web", ReachSettings()), where, AdviceSettings())


def middle(found):
    """The row that holds in the middle of the session."""
    return [row for row in found.rows if row.at <= START + timedelta(minutes=45)][-1]
