"""Asking a worker for papers."""

from datetime import datetime
from typing import Any

from django.db import transaction

from trips.models import PaperPack, Trip
from trips.services.paper_pack import paper_pack_open
from trips.tasks.papers import paper_pack_print


@transaction.atomic
def papers_order(*, trip: Trip, page_size: str, by: Any, now: datetime) -> PaperPack:
    """Have a pack printed by a worker, or hand back the one under way: two presses give one pack."""
    pack, is_new = paper_pack_open(trip=trip, page_size=page_size, by=by, now=now)
    if is_new:
        paper_pack_print.enqueue(str(pack.uuid))  # a row as well: no pack waits without its task
    return pack
