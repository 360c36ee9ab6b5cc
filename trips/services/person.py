"""What writes the people of a trip."""

from collections.abc import Collection
from typing import Any

from django.db import transaction

from participants.core.errors import CoreError
from participants.models import Participant
from participants.versions import Stale, row_save
from trips.models import Absence, Pairing, Place, PlaceState, Session, Trip
from trips.services.staleness import inputs_changed


class PlaceInUse(CoreError):
    """A place that rotas have turns for is cancelled, not removed: `place`, `rotas` (their numbers)."""


@transaction.atomic
def person_create(*, trip: Trip, person: Participant, state: str = PlaceState.INVITED) -> Place:
    """A new person of the trip's leader, with a place on the trip."""
    person.leader = trip.leader
    person.full_clean()
    person.save()
    return Place.objects.create(trip=trip, participant=person, state=state)


@transaction.atomic
def person_add(*, trip: Trip, person: Participant) -> Place:
    """A place for somebody the leader knows; asked twice, it is one place."""
    place, _ = Place.objects.get_or_create(trip=trip, participant=person)
    return place


@transaction.atomic
def place_remove(*, place: Place) -> None:
    """Take a place off the trip, unless a rota uses it; the person stays known."""
    numbers = set(place.turns.values_list("rota__number", flat=True))
    numbers |= set(place.rests.values_list("rota__number", flat=True))
    if numbers:
        raise PlaceInUse(place=place, rotas=tuple(sorted(numbers)))
    place.delete()
    inputs_changed([place.trip])


@transaction.atomic
def places_confirm(*, trip: Trip) -> int:
    """Confirm everybody who is invited; how many they were."""
    invited = list(trip.places.filter(state=PlaceState.INVITED).order_by("pk"))
    for place in invited:
        place.state = PlaceState.CONFIRMED
        row_save(row=place)
    return len(invited)


@transaction.atomic
def absences_set(*, place: Place, sessions: list[Session], seen: Collection[int] | None) -> None:
    """Exactly these sessions are the ones the person is not there for.

    `seen`: the keys of those noted when the form was opened; `Stale` where others are by now, or it does not say.
    """
    place = Place.objects.select_for_update(of=("self",)).select_related("trip").get(pk=place.pk)
    known = set(place.absences.values_list("session_id", flat=True))
    if seen is None or set(seen) != known:
        raise Stale(row=place, seen_version=place.version)
    wanted = {session.pk for session in sessions}
    if place.absences.exclude(session_id__in=wanted).delete()[0]:
        inputs_changed([place.trip])
    Absence.objects.bulk_create(
        Absence(place=place, session=session) for session in sessions if session.pk not in known
    )


@transaction.atomic
def pairing_create(*, trip: Trip, pairing: Pairing) -> Pairing:
    """Two people together or apart."""
    pairing.trip = trip
    pairing.full_clean()
    pairing.save()
    return pairing


@transaction.atomic
def pairing_remove(*, pairing: Any) -> None:
    """Take a pairing back."""
    pairing.delete()
    inputs_changed([pairing.trip])
