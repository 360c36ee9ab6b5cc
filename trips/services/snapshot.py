"""One consistent look at the database."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction


@contextmanager
def snapshot() -> Iterator[None]:
    """Everything read inside stands as it was at one moment, while others go on writing. Write nothing inside."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with _sqlite_reading(connection), transaction.atomic():
            yield


@contextmanager
def _sqlite_reading(sqlite: Any) -> Iterator[None]:
    """Transactions that begin inside take no lock, so that a long look holds up no writer."""
    sqlite.ensure_connection()  # sets the mode from the settings: that of writers
    mode = sqlite.transaction_mode
    sqlite.transaction_mode = "DEFERRED"
    try:
        yield
    finally:
        sqlite.transaction_mode = mode
