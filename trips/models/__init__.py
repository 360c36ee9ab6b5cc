"""The rows of a trip."""

from trips.models.log import OutBack, SessionLog, Sighting
from trips.models.meal import Meal
from trips.models.paper import PaperPack
from trips.models.place import Absence, Again, Pairing, Pin, Place, Wish
from trips.models.rota import Change, Issue, Making, Notice, Rest, Rota, Turn
from trips.models.session import Car, Forecast, Run, RunStop, Session, SessionHide
from trips.models.site import Hide, Seat, Site, SitePlanner, View
from trips.models.subject import HideSubject, Subject
from trips.models.trip import Trip, TripRules

__all__ = [
    "Absence",
    "Again",
    "Car",
    "Change",
    "Forecast",
    "Hide",
    "HideSubject",
    "Issue",
    "Making",
    "Meal",
    "Notice",
    "OutBack",
    "Pairing",
    "PaperPack",
    "Pin",
    "Place",
    "Rest",
    "Rota",
    "Run",
    "RunStop",
    "Seat",
    "Session",
    "SessionHide",
    "SessionLog",
    "Sighting",
    "Site",
    "SitePlanner",
    "Subject",
    "Trip",
    "TripRules",
    "Turn",
    "View",
    "Wish",
]
