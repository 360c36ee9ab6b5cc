"""Ticks of the leader: who was told of a change, who confirmed it."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import F

from participants.core.errors import CoreError
from participants.services import submission_first
from trips.models import Notice

TICKS = ("told", "untold", "confirmed", "unconfirmed")


class ReadByPerson(CoreError):
    """A tick that the person set by reading the page stays: `name`."""


@transaction.atomic
def notice_tick(*, notice: Notice, tick: str, at: datetime, client_uuid: UUID | None = None) -> None:
    """Set or take back a tick; whoever confirms was told. The first moment stays, however often it is ticked.

    `ReadByPerson` where the person read it on their own page: that is not taken back.
    """
    if not submission_first(person=None, client_uuid=client_uuid, kind="told"):
        return
    stored = Notice.objects.select_for_update(of=("self",)).select_related("place__participant").get(pk=notice.pk)
    if tick in ("untold", "unconfirmed") and stored.read_at is not None and stored.place is not None:
        raise ReadByPerson(name=stored.place.participant.name)
    told, confirmed = stored.told_at, stored.confirmed_at
    if tick in ("told", "confirmed"):
        told = told or at
        confirmed = (confirmed or at) if tick == "confirmed" else confirmed
    else:
        told, confirmed = None if tick == "untold" else told, None
    Notice.objects.filter(pk=notice.pk).update(told_at=told, confirmed_at=confirmed, version=F("version") + 1)
