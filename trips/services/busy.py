"""A database that cannot be used for a while: locked by another writer (SQLite), or its server starts anew."""

import logging
import time
from collections.abc import Callable
from typing import TypeVar

from django.db import InterfaceError, OperationalError, connection

FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0  # from the wait for a writer to that for a server that starts anew
LONG_WORK_S = 600.0  # no single wait for a lock lasts as long: until then all went well
Result = TypeVar("Result")
logger = logging.getLogger("fairhide")


# PostgreSQL's class 08 and 57P01 to 57P03: connection lost, server stopped, crashed, or not started yet (its manual,
# appendix A). Without a state no server answered at all.
_SERVER_AWAY = ("08", "57P01", "57P02", "57P03")


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
    """Do it; while the database is busy or away wait, each time twice as long, and do it again."""
    pause_s = FIRST_PAUSE_S
    while True:
        began_s = time.monotonic()
        try:
            return work()
        except (OperationalError, InterfaceError) as error:
            if not is_busy(error):
                raise
            connection.close_if_unusable_or_obsolete()
        if time.monotonic() - began_s > LONG_WORK_S:
            pause_s = FIRST_PAUSE_S
        logger.warning("The database is busy; trying again in %g s.", pause_s)
        time.sleep(pause_s)
        pause_s = min(2 * pause_s, LONGEST_PAUSE_S)
