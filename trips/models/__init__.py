"""The rows of a trip."""

from trips.models.log import OutBack, SessionLog, Sighting
from trips.models.rota import Change, Issue, Making, Notice, Rest, Rota, Turn
from trips.models.site import Hide, HideSubject, Seat, Site, Subject, View
from trips.models.trip import (
    Absence,
    Again,
    Car,
    Forecast,
    Pairing,
    Pin,
    Place,
    Run,
    RunStop,
    Session,
    SessionHide,
    Trip,
    TripRules,
    Wish,
)

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
    "Notice",
    "OutBack",
    "Pairing",
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
    "Subject",
    "Trip",
    "TripRules",
    "Turn",
    "View",
    "Wish",
]
