"""Names that are unique among their neighbours, exchanged within one form."""

from collections.abc import Iterable

from participants.models import Row


def names_free(rows: Iterable[Row]) -> None:
    """Take their old names off stored rows that get others, so that each can get a neighbour's.

    Called in the transaction that saves the rows under their new names.
    """
    for row in rows:
        stored = type(row)._default_manager.filter(pk=row.pk)
        stored.exclude(name=row.name).update(name=f"~{row.uuid.hex}")  # type: ignore[attr-defined]
