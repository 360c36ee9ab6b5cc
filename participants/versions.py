"""Row versions: who saves a form opened before somebody else's change is told so, and loses nothing."""

from typing import TypeVar

from django.db import transaction
from django.db.models import F

from participants.core.errors import CoreError
from participants.models import Row

RowType = TypeVar("RowType", bound=Row)


class Stale(CoreError):
    """The row changed since the form was opened: `row` (as it stands now), `seen_version`."""


def row_save(*, row: RowType, seen_version: int | None = None) -> RowType:
    """Save `row` if it still has the version that the form saw, raising the version by one; otherwise `Stale`.

    `seen_version` None saves without asking. Call it inside the service's transaction.
    """
    manager = type(row)._default_manager
    version = row.version if seen_version is None else seen_version
    taken = manager.filter(pk=row.pk, version=version).update(version=F("version") + 1)
    if not taken:
        raise Stale(row=manager.filter(pk=row.pk).first(), seen_version=version)
    row.version = version + 1
    row.save()
    return row


@transaction.atomic
def row_update(*, row: RowType, seen_version: int) -> RowType:
    """Save one changed row that nothing else hangs on; `Stale` where somebody else changed it since."""
    return row_save(row=row, seen_version=seen_version)
