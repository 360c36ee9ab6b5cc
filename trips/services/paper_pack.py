"""All papers of a rota as one zip, printed in a worker with progress."""

import io
import zipfile
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import F, Q
from django.utils import timezone

from trips.documents.scripts import NoFont, PaperFailed
from trips.documents.wording.papers import paper_fault
from trips.models import PackState, PaperPack, Trip
from trips.models.paper import ACTIVE_PACK_STATES
from trips.services.busy import patiently
from trips.services.papers import PaperOrder, papers_print, rota_for_papers, trip_files

STALE_AFTER_S = 120  # a long paper on a busy machine says nothing meanwhile
KEPT_PACKS = 3  # of a trip; older ones go when a new one is asked for
ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the same papers give the same bytes


def paper_pack_open(*, trip: Trip, page_size: str, by: Any, now: datetime) -> tuple[PaperPack, bool]:
    """A new waiting pack of the issued rota (else of the newest draft, else of none), or the active one; is it new?"""
    paper_packs_give_up(trip=trip, now=now)
    asked = {"rota": rota_for_papers(trip), "page_size": page_size, "asked_by": by, "asked_at": now}
    pack, is_new = PaperPack.objects.get_or_create(trip=trip, state__in=ACTIVE_PACK_STATES, defaults=asked)
    if is_new:
        old = list(trip.paper_packs.order_by("-asked_at", "-pk").values_list("pk", flat=True)[KEPT_PACKS:])
        PaperPack.objects.filter(pk__in=old).delete()
    return pack, is_new


def paper_pack_print(*, pack_uuid: UUID | str) -> PaperPack:
    """Print a waiting pack. It ends finished with its zip, or failed with a sentence and without a zip."""
    claimed = PaperPack.objects.filter(uuid=pack_uuid, state=PackState.WAITING)
    taken = claimed.update(state=PackState.RUNNING, heartbeat_at=timezone.now(), version=F("version") + 1)
    pack = PaperPack.objects.select_related("trip__leader", "rota__issue", "rota__trip__leader").get(uuid=pack_uuid)
    if not taken:
        return pack
    try:
        order = PaperOrder(page_size=pack.page_size)
        files = trip_files(trip=pack.trip, rota=pack.rota, order=order, now=timezone.now())
        printed = papers_print(files, told=lambda done, total: _tell(pack, done, total))
    except (NoFont, PaperFailed) as failed:
        _end(pack, state=PackState.FAILED, fault=paper_fault(failed))
    except Exception:
        _end(pack, state=PackState.FAILED, fault="The papers could not be printed. The error is in the worker's log.")
        raise
    else:
        _end(pack, state=PackState.FINISHED, content=zip_bytes(printed))
    pack.refresh_from_db()
    return pack


def paper_packs_give_up(*, trip: Trip, now: datetime) -> int:
    """Packs whose worker gave no sign of life are "not finished, start again"."""
    silent = now - timedelta(seconds=STALE_AFTER_S)
    dead = PaperPack.objects.filter(trip=trip, state=PackState.RUNNING).filter(
        Q(heartbeat_at__lt=silent) | Q(heartbeat_at__isnull=True)
    )
    return dead.update(state=PackState.NOT_FINISHED, ended_at=now, version=F("version") + 1)


def zip_bytes(files: Iterable[tuple[str, bytes]]) -> bytes:
    """The files as one zip, in the order of their names, the same bytes for the same files."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as packed:
        for name, content in sorted(files):
            entry = zipfile.ZipInfo(name, ZIP_DATE)
            entry.external_attr = 0o644 << 16
            packed.writestr(entry, content, zipfile.ZIP_DEFLATED)
    return written.getvalue()


def _tell(pack: PaperPack, done: int, total: int) -> None:
    running = PaperPack.objects.filter(pk=pack.pk, state=PackState.RUNNING)
    patiently(lambda: running.update(done=done, total=total, heartbeat_at=timezone.now()))


def _end(pack: PaperPack, *, state: str, fault: str = "", content: bytes | None = None) -> None:
    running = PaperPack.objects.filter(pk=pack.pk, state=PackState.RUNNING)
    ended = {"state": state, "fault": fault, "content": content, "ended_at": timezone.now()}
    patiently(lambda: running.update(**ended, version=F("version") + 1))
