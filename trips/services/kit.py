"""What writes a person's gear."""

from typing import Any

from django.db import transaction

from participants.models import Participant
from participants.versions import row_save


@transaction.atomic
def piece_add(*, person: Participant, piece: Any) -> Any:
    """A new piece of gear of a person."""
    piece.participant = person
    piece.save()
    return piece


@transaction.atomic
def pieces_add(*, person: Participant, pieces: list[Any]) -> list[Any]:
    """Several new pieces at once, or none."""
    return [piece_add(person=person, piece=piece) for piece in pieces]


@transaction.atomic
def piece_update(*, piece: Any, seen_version: int) -> Any:
    """A changed piece; `Stale` where somebody else changed it since."""
    return row_save(row=piece, seen_version=seen_version)


@transaction.atomic
def piece_delete(*, piece: Any) -> None:
    """A piece that is not brought along."""
    piece.delete()
