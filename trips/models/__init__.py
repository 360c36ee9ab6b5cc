"""The rows of a trip."""

from trips.models.gear_away import GearAway
from trips.models.log import Arrival, Happening, HappeningKind, SessionLog
from trips.models.paper import PackState, PaperPack
from trips.models.place import NOT_CANCELLED, ON_TRIP, Absence, Again, Pairing, Pin, Place, PlaceState, Wish
from trips.models.rota import Change, Issue, Making, MakingState, Notice, Rest, Rota, RotaState, Turn
from trips.models.session import Car, Forecast, HideState, Run, RunStop, Session, SessionHide
from trips.models.site import Hide, Seat, Site, SitePlanner, View
from trips.models.subject import HideSubject, Subject
from trips.models.trip import Meal, Trip, TripRules

__all__ = [
    "NOT_CANCELLED",
    "ON_TRIP",
    "Absence",
    "Again",
    "Arrival",
    "Car",
    "Change",
    "Forecast",
    "GearAway",
    "Happening",
    "HappeningKind",
    "Hide",
    "HideState",
    "HideSubject",
    "Issue",
    "Making",
    "MakingState",
    "Meal",
    "Notice",
    "PackState",
    "Pairing",
    "PaperPack",
    "Pin",
    "Place",
    "PlaceState",
    "Rest",
    "Rota",
    "RotaState",
    "Run",
    "RunStop",
    "Seat",
    "Session",
    "SessionHide",
    "SessionLog",
    "Site",
    "SitePlanner",
    "Subject",
    "Trip",
    "TripRules",
    "Turn",
    "View",
    "Wish",
]
