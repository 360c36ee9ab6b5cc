"""What was measured on the spot goes to the hide; a form that waited for a network is taken once."""

from uuid import UUID

from django.db import transaction
from django.db.models import F

from participants.services import submission_first
from participants.versions import Stale, row_save
from trips.models import Hide, View


@transaction.atomic
def position_take(*, hide: Hide, was: tuple[float, float] | None, client_uuid: UUID | None = None) -> None:
    """Save where a hide stands; `Stale` where it is neither where the page showed it nor where it now is said to be.

    `was`: the position that the page showed, None for the site's.
    """
    if not submission_first(person=None, client_uuid=client_uuid, kind="survey"):
        return
    stored = Hide.objects.select_for_update().get(pk=hide.pk)
    if not _same(_position(stored), was) and not _same(_position(stored), _position(hide)):
        raise Stale(row=stored, seen_version=0)
    row_save(row=hide)


@transaction.atomic
def view_take(*, view: View, seen_version: int, client_uuid: UUID | None = None) -> None:
    """Save where a view looks; `Stale` where somebody else changed it since. The hide counts as changed too."""
    if not submission_first(person=None, client_uuid=client_uuid, kind="survey"):
        return
    if view.pk:
        row_save(row=view, seen_version=seen_version)
    else:
        view.save()
    Hide.objects.filter(pk=view.hide_id).update(version=F("version") + 1)


def _position(hide: Hide) -> tuple[float, float] | None:
    if hide.latitude_deg is None or hide.longitude_deg is None:
        return None
    return hide.latitude_deg, hide.longitude_deg


def _same(one: tuple[float, float] | None, other: tuple[float, float] | None) -> bool:
    """Whether two positions are the same to a hundredth of a metre."""
    if one is None or other is None:
        return one is other
    return abs(one[0] - other[0]) < 1e-7 and abs(one[1] - other[1]) < 1e-7
