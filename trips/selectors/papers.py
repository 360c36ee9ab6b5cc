"""What the page of papers and calendars shows."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F, OuterRef, Subquery, Value
from django.db.models.functions import Coalesce
from django.db.models.lookups import LessThan
from django.shortcuts import get_object_or_404

from trips.models import Issue, PackState, PaperPack, RotaState, Trip
from trips.selectors.making import NO_SIGN_AFTER_S
from trips.services.paper_pack import STALE_AFTER_S


def last_pack(trip: Trip, now: datetime) -> PaperPack | None:
    """The pack asked for last, without its content, told for how long it waits; a silent one as not finished.

    `is_outdated`: it was asked for before the rota in force was issued, so its papers say DRAFT or tell an older one.
    """
    issued = Issue.objects.filter(rota__trip=OuterRef("trip"), rota__state=RotaState.ISSUED).values("issued_at")[:1]
    before = LessThan(F("asked_at"), Subquery(issued))
    packs = trip.paper_packs.select_related("rota").annotate(is_outdated=Coalesce(before, Value(value=False)))
    pack = packs.defer("content").order_by("-asked_at", "-pk").first()
    if pack is not None and pack.state == PackState.RUNNING:
        silent = pack.heartbeat_at is None or now - pack.heartbeat_at > timedelta(seconds=STALE_AFTER_S)
        pack.state = PackState.NOT_FINISHED if silent else pack.state
    if pack is not None and pack.state == PackState.WAITING:
        waits_s = int((now - pack.asked_at).total_seconds())
        pack.waits_s = waits_s if waits_s >= NO_SIGN_AFTER_S else 0
    return pack


def pack_ready(trip: Trip, pack_uuid: UUID) -> PaperPack:
    """A finished pack of the trip with its content; anything else is a 404."""
    packs = trip.paper_packs.select_related("rota").filter(state=PackState.FINISHED, content__isnull=False)
    return get_object_or_404(packs, uuid=pack_uuid)
