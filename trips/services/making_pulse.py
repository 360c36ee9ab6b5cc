"""The sign of life of a run whose planner is silent: a thread that ends with the run, and dies with its worker."""

from datetime import timedelta
from threading import Event, Thread
from types import TracebackType
from typing import Self

from django.db import DatabaseError, connections
from django.db.models import F
from django.utils import timezone

from trips.models import Making, MakingState

PULSE_EVERY_S = 2.0


class Pulse:
    """While it is entered, the run's row says at least every `every_s` seconds that its worker lives.

    A run that gave a sign itself meanwhile is left alone, and so is one that is no longer under way. A database that
    is busy is asked again the next time.
    """

    def __init__(self, making: Making, every_s: float = PULSE_EVERY_S) -> None:
        self._pk, self._every_s = making.pk, every_s
        self._ended = Event()
        self._thread = Thread(target=self._beat, name=f"pulse of run {making.pk}", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._ended.set()
        self._thread.join()

    def _beat(self) -> None:
        while not self._ended.wait(self._every_s):
            now = timezone.now()
            silent = now - timedelta(seconds=self._every_s)
            try:
                rows = Making.objects.filter(pk=self._pk, state=MakingState.RUNNING, heartbeat_at__lte=silent)
                rows.update(heartbeat_at=now, version=F("version") + 1)
            except DatabaseError:
                continue
            finally:
                connections.close_all()  # this thread's own; none stays open between two signs
