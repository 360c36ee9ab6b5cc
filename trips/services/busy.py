"""A database that cannot be used for a while: locked by another writer (SQLite), its server starts anew, disk full."""

import errno
import logging
import time
from collections.abc import Callable
from typing import TypeVar

from django.db import DatabaseError, InterfaceError, OperationalError, connection

FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0  # from the wait for a writer to that for a server that starts anew
LONG_WORK_S = 600.0  # no single wait for a lock lasts as long: until then all went well
Result = TypeVar("Result")
logger = logging.getLogger("fairhide")


# PostgreSQL's class 08 and 57P01 to 57P03: connection lost, server stopped, crashed, or not started yet (its manual,
# appendix A). Without a state no server answered at all.
_SERVER_AWAY = ("08", "57P01", "57P02", "57P03")


# SQLite's words for SQLITE_FULL, SQLITE_READONLY, SQLITE_IOERR and SQLITE_CANTOPEN (its result codes), and
# PostgreSQL's states for a full disk and a database that only reads.
_CANNOT_SAVE = ("disk is full", "readonly database", "disk I/O error", "unable to open database file")
_SERVER_CANNOT_SAVE = ("53100", "25006")


def is_unwritable(error: BaseException | None) -> bool:
    """Whether nothing can be saved: the disk is full, or it only reads. What is there can mostly still be read."""
    if isinstance(error, DatabaseError):
        state = getattr(error.__cause__, "sqlstate", None)
        return state in _SERVER_CANNOT_SAVE or any(words in str(error) for words in _CANNOT_SAVE)
    return isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EROFS, errno.EDQUOT)


def is_busy(error: BaseException | None) -> bool:
    """Whether the same may work in a moment: the database is locked by another, or its server is away."""
    if not isinstance(error, OperationalError | InterfaceError):
        return False
    return any(word in str(error) for word in ("is locked", "is busy")) or _server_is_away(error)


def _server_is_away(error: OperationalError | InterfaceError) -> bool:
    cause = error.__cause__
    if not type(cause).__module__.startswith("psycopg"):
        return False
    state = getattr(cause, "sqlstate", None)
    return state is None or state.startswith(_SERVER_AWAY)


def patiently(work: Callable[[], Result]) -> Result:
    """Do it; while the database is busy, away or full wait, each time twice as long, and do it again."""
    pause_s = FIRST_PAUSE_S
    while True:
        began_s = time.monotonic()
        try:
            return work()
        except (OperationalError, InterfaceError) as error:
            if not (is_busy(error) or is_unwritable(error)):
                raise
            trouble = "is busy" if is_busy(error) else "cannot be written: its disk is full or only reads"
            connection.close_if_unusable_or_obsolete()
        if time.monotonic() - began_s > LONG_WORK_S:
            pause_s = FIRST_PAUSE_S
        logger.warning("The database %s; trying again in %g s.", trouble, pause_s)
        time.sleep(pause_s)
        pause_s = min(2 * pause_s, LONGEST_PAUSE_S)
