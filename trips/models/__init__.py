"""The rows of a trip."""

from trips.models.gear_away import GearAway
from trips.models.log import Arrival, Happening, HappeningKind, IncidentRecord, Message, SessionLog
from trips.models.paper import PackState, PaperPack
from trips.models.place import NOT_CANCELLED, ON_TRIP, Absence, Again, Pairing, Pin, Place, PlaceState, Wish
from trips.models.rota import Change, Issue, MailState, Making, MakingState, Notice, Rest, Rota, RotaState, Turn
from trips.models.session import Car, DriverList, Forecast, HideState, Run, RunStop, Session, SessionHide
from trips.models.site import Hide, Seat, Site, SitePlanner, View
from trips.models.subject import HideSubject, Subject
from trips.models.trip import Meal, Trip, TripRules
