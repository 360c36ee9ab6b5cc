"""What the page of papers and calendars shows."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.http import Http404

from trips.models import PackState, PaperPack, Trip
from trips.models.paper import ACTIVE_PACK_STATES
from trips.services.paper_pack import STALE_AFTER_S


@dataclass(frozen=True)
class PackPanel:
    """A pack as the page tells it."""

    uuid: UUID
    state: str
    words: str
    fault: str
    done: int
    total: int
    rota_number: int | None
    asked_at: datetime
    is_active: bool
    is_ready: bool


def last_pack(trip: Trip, now: datetime) -> PackPanel | None:
    """The pack asked for last, without its content; a silent one counts as not finished."""
    pack = trip.paper_packs.select_related("rota").defer("content").order_by("-asked_at", "-pk").first()
    if pack is None:
        return None
    silent = pack.state == PackState.RUNNING and (
        pack.heartbeat_at is None or now - pack.heartbeat_at > timedelta(seconds=STALE_AFTER_S)
    )
    state = PackState.NOT_FINISHED if silent else pack.state
    return PackPanel(
        uuid=pack.uuid,
        state=state,
        words="not finished, start again" if silent else pack.get_state_display(),
        fault=pack.fault,
        done=pack.done,
        total=pack.total,
        rota_number=pack.rota.number if pack.rota else None,
        asked_at=pack.asked_at,
        is_active=state in ACTIVE_PACK_STATES,
        is_ready=state == PackState.FINISHED,
    )


def pack_ready(trip: Trip, pack_uuid: UUID) -> PaperPack:
    """A finished pack of the trip with its content; anything else is a 404."""
    pack = trip.paper_packs.select_related("rota").filter(uuid=pack_uuid, state=PackState.FINISHED).first()
    if pack is None or pack.content is None:
        raise Http404("no such pack")
    return pack
