"""What writes a person's gear."""

from typing import Any
from uuid import UUID

from django.db import transaction

from participants.models import Participant
from participants.services import submission_first
from participants.versions import row_save
from trips.models import Trip
from trips.selectors.rota import GEAR_OF_ROTAS
from trips.services.parts import parts_changed

SUBMITTED = "kit"


@transaction.atomic
def pieces_add(*, person: Participant, pieces: list[Any], client_uuid: UUID | None = None) -> None:
    """New pieces of gear of a person, all or none. A form that waited is taken once."""
    if not submission_first(person=person, client_uuid=client_uuid, kind=SUBMITTED):
        return
    for piece in pieces:
        piece.participant = person
        piece.save()


@transaction.atomic
def piece_update(*, piece: Any, seen_version: int, client_uuid: UUID | None = None) -> None:
    """A changed piece; `Stale` where somebody else changed it since."""
    if submission_first(person=piece.participant, client_uuid=client_uuid, kind=SUBMITTED):
        row_save(row=piece, seen_version=seen_version)


@transaction.atomic
def piece_delete(*, piece: Any, seen_version: int, client_uuid: UUID | None = None) -> None:
    """A piece that is not brought along; `Stale` where somebody else changed it since."""
    if not submission_first(person=piece.participant, client_uuid=client_uuid, kind=SUBMITTED):
        return
    row_save(row=piece, seen_version=seen_version)
    piece.delete()
    if isinstance(piece, GEAR_OF_ROTAS):
        parts_changed(Trip.objects.filter(places__participant=piece.participant))
