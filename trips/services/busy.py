"""A database that somebody else writes to for longer than a writer waits (SQLite lets one write at a time)."""

import logging
import time
from collections.abc import Callable
from typing import TypeVar

from django.db import OperationalError

FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0
LONG_WORK_S = 600.0  # no single wait for a lock lasts as long: until then all went well
Result = TypeVar("Result")
logger = logging.getLogger("fairhide")


def is_busy(error: BaseException | None) -> bool:
    """Whether this says that the database is locked by somebody else: the same may work in a moment."""
    return isinstance(error, OperationalError) and any(word in str(error) for word in ("is locked", "is busy"))


def patiently(work: Callable[[], Result]) -> Result:
    """Do it; while the database is busy wait, each time twice as long, and do it again."""
    pause_s = FIRST_PAUSE_S
    while True:
        began_s = time.monotonic()
        try:
            return work()
        except OperationalError as error:
            if not is_busy(error):
                raise
        if time.monotonic() - began_s > LONG_WORK_S:
            pause_s = FIRST_PAUSE_S
        logger.warning("The database is busy; trying again in %g s.", pause_s)
        time.sleep(pause_s)
        pause_s = min(2 * pause_s, LONGEST_PAUSE_S)
