"""Names that are unique among their neighbours, exchanged within one form."""

from collections.abc import Iterable
from typing import Any


def names_free(rows: Iterable[Any]) -> None:
    """Take their old names off stored rows that get others, so that each can get a neighbour's.

    Called in the transaction that saves the rows under their new names.
    """
    for row in rows:
        type(row).objects.filter(pk=row.pk).exclude(name=row.name).update(name=f"~{row.uuid.hex}")
