"""Messages of people to their leaders: sent, and answered. None changes a rota by itself."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from participants.versions import row_save
from trips.models import Message, Place
from trips.selectors.messages import session_meant


@transaction.atomic
def message_send(*, place: Place, message: Message, at: datetime, row_uuid: UUID | None = None) -> None:
    """Keep what was typed at that moment; `row_uuid`: what the phone calls it, taken once."""
    if row_uuid is not None and Message.objects.filter(uuid=row_uuid).exists():
        return
    message.uuid = row_uuid or message.uuid
    message.place, message.sent_at, message.session = place, at, session_meant(place, at)
    message.save()


def message_answer(*, message: Message, by: Any, at: datetime) -> None:
    """A leader has seen it; the first answer stays."""
    if message.answered_at is None:
        message.answered_at, message.answered_by = at, by
        row_save(row=message)
