"""What writes a person's gear."""

from typing import Any
from uuid import UUID

from django.db import transaction

from participants.models import Participant
from participants.versions import row_save
from trips.models import GearAway, Trip
from trips.selectors.rota import GEAR_OF_ROTAS
from trips.services.staleness import inputs_changed

FIRST_VERSION = 1  # of a row that the phone believes new


@transaction.atomic
def pieces_add(*, person: Participant, pieces: list[Any], row_uuid: UUID | None = None) -> None:
    """New pieces of gear of a person, all or none.

    `row_uuid`: what the phone calls a new piece. Where it was taken before and the phone never learned so, that row is
    changed and no second one made; `Stale` where it was changed since.
    """
    for piece in pieces:
        piece.participant = person
        known = type(piece).objects.filter(uuid=row_uuid).first() if row_uuid else None
        if known is None:
            piece.uuid = row_uuid or piece.uuid
            piece.save()
        elif known.participant_id == person.pk:
            piece.pk, piece.uuid = known.pk, known.uuid
            row_save(row=piece, seen_version=FIRST_VERSION)
        else:
            piece.save()  # a uuid of somebody else's: nothing of theirs is touched


@transaction.atomic
def piece_update(*, piece: Any, seen_version: int) -> None:
    """A changed piece; `Stale` where somebody else changed it since."""
    row_save(row=piece, seen_version=seen_version)


@transaction.atomic
def piece_delete(*, piece: Any, seen_version: int) -> None:
    """A piece that is not brought along; `Stale` where somebody else changed it since."""
    row_save(row=piece, seen_version=seen_version)
    piece.delete()
    if isinstance(piece, GEAR_OF_ROTAS):
        inputs_changed(Trip.objects.filter(places__participant=piece.participant))


@transaction.atomic
def gear_away_save(*, row: GearAway, seen_version: int | None = None) -> GearAway:
    """A piece lost, lent or shared; `Stale` where a row that is changed was changed since."""
    row.full_clean()
    if row.pk:
        row_save(row=row, seen_version=seen_version)
    else:
        row.save()
    return row


@transaction.atomic
def gear_away_delete(*, row: GearAway) -> None:
    """As if it had never been away: the undo of a loss or loan."""
    row.delete()
    inputs_changed([row.trip])
