"""What a participant's pages read: places of the person, and the one a page is about."""

from datetime import date, timedelta
from uuid import UUID

from django.http import Http404

from participants.models import Participant
from trips.models import Place

SEEN_STATES = ("invited", "confirmed", "waiting")


def places_of(person: Participant) -> list[Place]:
    """The person's places on trips, the earliest trip first, with what every page names."""
    places = Place.objects.filter(participant=person, state__in=SEEN_STATES)
    return list(places.select_related("trip__rules", "trip__leader", "participant").order_by("trip__starts_on", "pk"))


def place_of(person: Participant, *, today: date, trip_uuid: UUID | str | None = None) -> Place | None:
    """The place a page is about: of the trip asked for, else of the running or next trip, else of the last one.

    A trip counts as running until the day after its end, since its last turn may cross midnight. 404 for the trip of
    somebody else; None for a person without any place.
    """
    places = places_of(person)
    if trip_uuid is not None:
        wanted = [place for place in places if str(place.trip.uuid) == str(trip_uuid)]
        if not wanted:
            raise Http404("no such trip")
        return wanted[0]
    ahead = [place for place in places if place.trip.ends_on >= today - timedelta(days=1)]
    return ahead[0] if ahead else places[-1] if places else None
