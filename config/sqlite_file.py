"""SQLite's file on media that can only be read."""

import os
import sqlite3
from pathlib import Path
from typing import Any


class ReadableConnection(sqlite3.Connection):
    """Opens a file on media that can only be read as one that nobody writes: it needs no log beside it then.

    Where a log was left there the file alone would be out of date; it is opened as always, and refused.
    Source: SQLite's documentation of write-ahead logging, "Read-Only Databases".
    """

    def __init__(self, database: str, *args: Any, **options: Any) -> None:
        if Path(database).is_file() and _reads_only(database) and not Path(f"{database}-wal").exists():
            database = f"{Path(database).resolve().as_uri()}?immutable=1"
        super().__init__(database, *args, **options)


def _reads_only(name: str) -> bool:
    return bool(os.statvfs(name).f_flag & os.ST_RDONLY)
