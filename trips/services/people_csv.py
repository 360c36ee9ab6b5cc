"""What writes imported people and gear: all of a file or nothing."""

from typing import Any

from django.db import transaction

from participants.models import Participant
from participants.versions import row_save
from trips.models import Place, Trip


@transaction.atomic
def people_import_save(*, trip: Trip, people: list[Participant], states: list[str]) -> None:
    """People of a file, new or changed, each with a place on the trip, in the state that the file gives it."""
    for person, state in zip(people, states, strict=True):
        if person.pk is None:
            person.leader = trip.leader
            person.save()
        else:
            row_save(row=person)
        place, is_new = Place.objects.get_or_create(
            trip=trip, participant=person, defaults={"state": state} if state else {}
        )
        if state and not is_new and place.state != state:
            place.state = state
            row_save(row=place)


@transaction.atomic
def gear_import_save(*, pieces: list[tuple[Participant, str, Any]]) -> None:
    """Gear of a file, new or changed."""
    for person, _, piece in pieces:
        if piece.pk is None:
            piece.participant = person
            piece.save()
        else:
            row_save(row=piece)
