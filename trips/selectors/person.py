"""The people of a trip as the leader sees them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from participants.core.isolation import isolated
from participants.models import Participant
from trips.assemble.sessions import session_label
from trips.documents.wording.rota import SeatsAhead
from trips.models import ON_TRIP, Pairing, Place, PlaceState, RotaState, Trip, Turn
from trips.selectors.told import is_told_by_leader
from trips.selectors.trip import trip_for


@dataclass(frozen=True)
class PersonLine:
    """One line of the list of people: the place and what is still missing, in a few words."""

    place: Place
    missing: tuple[str, ...]

    @property
    def counts(self) -> bool:
        """Whether the person is on the trip: neither waiting nor cancelled."""
        return self.place.state in ON_TRIP


def trip_zone(trip: Trip) -> str:
    """The zone of the trip's first site; UTC without one."""
    site = trip.sites.order_by("name").first()
    return site.time_zone if site else "UTC"


def place_for(trip: Trip, uuid: UUID | str) -> Place:
    """The place of that uuid on this trip, with its person."""
    try:
        place = trip.places.select_related("participant__leader", "trip").filter(uuid=UUID(str(uuid))).first()
    except ValueError:
        place = None
    if place is None:
        raise Http404("no such place")
    return place


def missing_of(place: Place) -> tuple[str, ...]:
    """What is still missing of a person for the trip, in a few words each."""
    person = place.participant
    found = []
    if place.photographs:
        if not person.bodies.all():
            found.append("no body")
        if not person.lenses.all():
            found.append("no lens")
        if not place.wishes.all():
            found.append("no votes spent")
    if not person.emergency_contact:
        found.append("no emergency contact")
    if not person.email and not person.on_paper:
        found.append("no e-mail")
    return tuple(found)


def person_lines(trip: Trip) -> list[PersonLine]:
    """Everybody on the trip, confirmed first, in a fixed number of queries."""
    order = (PlaceState.CONFIRMED, PlaceState.INVITED, PlaceState.WAITING, PlaceState.CANCELLED)
    places = trip.places.select_related("participant").prefetch_related(
        "wishes", "participant__bodies", "participant__lenses"
    )
    return [
        PersonLine(place, missing_of(place)) for place in sorted(places, key=lambda place: order.index(place.state))
    ]


def people_elsewhere(asker: Any, trip: Trip) -> QuerySet[Participant]:
    """The people the asker, who leads the trip, knows from other trips; nobody for a co-leader, whose they are not."""
    people = Participant.objects.filter(leader=trip.leader, erased_at=None).exclude(places__trip=trip)
    return people if trip.leader == asker else people.none()


def anybody_elsewhere(asker: Any, trip: Trip) -> bool:
    """Whether the asker knows anybody who has no place on this trip."""
    return people_elsewhere(asker, trip).exists()


def own_trip_for(asker: Any, uuid: UUID | str) -> Trip:
    """The trip of that uuid, if the asker is its leader and not a co-leader."""
    trip = trip_for(asker, uuid)
    if trip.leader != asker:
        raise Http404("no such trip of this leader's own")
    return trip


def any_sessions(trip: Trip) -> bool:
    """Whether the trip has sessions that somebody could miss."""
    return trip.sessions.exists()


def seats_ahead(place: Place, now: datetime) -> SeatsAhead | None:
    """What the person still sits in by the issued rota; None for nothing."""
    ahead = Turn.objects.filter(place=place, rota__state=RotaState.ISSUED, session__ends_at__gt=now)
    turns = list(ahead.select_related("rota", "session__site", "hide", "seat").order_by("session__starts_at", "pk"))
    if not turns:
        return None
    told = tuple(
        f"{session_label(turn.session)}: {isolated(turn.hide.name)}, {isolated(turn.seat.name)}" for turn in turns
    )
    return SeatsAhead(turns[0].rota.number, told, not is_told_by_leader(place.participant))


def pairings_of(trip: Trip) -> list[Pairing]:
    """The trip's pairings with their people. Leaders only."""
    return list(trip.pairings.select_related("first__participant", "second__participant"))


def pairing_for(trip: Trip, uuid: UUID | str) -> Pairing:
    """The pairing of that uuid on this trip."""
    return get_object_or_404(trip.pairings, uuid=uuid)
