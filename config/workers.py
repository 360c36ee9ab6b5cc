"""What a worker does beside its tasks: signs of life, mails, and another turn for what a killed worker left."""

import logging
import threading
from datetime import timedelta
from typing import Self

from django.db import Error, connection
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from config.health import WORKER_BEAT, WORKER_LOST
from config.models import WorkerSeen
from trips.services.busy import FIRST_PAUSE_S, patiently
from trips.services.notices import notices_send

MOST_TURNS = 6  # of one task that meets a busy database, a silent mail server or a killed worker; then it has failed
MAIL_PAUSE_S = 30.0  # before the second turn of a task whose mail was not taken; the last comes after 16 minutes
LAST_WORDS_S = 30.0  # how long the end of a worker waits for a mail under way
MAIL_EVERY_S = 5.0  # how often a worker looks for mails that are due

logger = logging.getLogger("fairhide")


class Recurring:
    """Does `work` every `every_s` seconds in a thread of its own while it is entered, the first time after `first_s`.

    A database that is busy or away is asked again at the next round, and no other error ends it.
    """

    def __init__(self, name: str, every_s: float, first_s: float = 0.0) -> None:
        self._name, self._every_s, self._first_s = name, every_s, first_s
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._go_on, name=name, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join(LAST_WORDS_S)

    def work(self) -> None:
        """What it is for."""
        raise NotImplementedError

    def _go_on(self) -> None:
        pause_s = self._first_s
        while not self._over.wait(pause_s):
            pause_s = self._every_s
            try:
                self.work()
            except Error as error:
                logger.info("The %s wait for the database: %s", self._name, type(error).__name__)
            except Exception:
                logger.exception("The %s broke off; they are tried again.", self._name)
            connection.close()  # this thread's own


class SignsOfLife(Recurring):
    """Writes that a worker lives, every WORKER_BEAT, beside its tasks; and looks after the tasks of killed workers."""

    def __init__(self, worker_id: str) -> None:
        self.worker_id = worker_id
        super().__init__("signs of life", WORKER_BEAT.total_seconds(), WORKER_BEAT.total_seconds())

    def __enter__(self) -> Self:
        patiently(lambda: sign_of_life(self.worker_id))  # before it takes up a task, or that would count as lost
        return super().__enter__()

    def __exit__(self, *_: object) -> None:
        super().__exit__()
        try:
            WorkerSeen.objects.filter(worker_id=self.worker_id).delete()
        except Error:  # it ends all the same, and counts as lost in two minutes
            connection.close()

    def work(self) -> None:
        """A sign of its own, and a look at those of others."""
        sign_of_life(self.worker_id)
        lost_tasks_put_back()


class Outbox(Recurring):
    """Sends the mails of notices as they fall due: neither plans nor papers hold them up."""

    def __init__(self) -> None:
        super().__init__("mails", MAIL_EVERY_S)

    def work(self) -> None:
        """All that are due; told to end, no more than the one under way."""
        notices_send(is_over=self._over.is_set)


def sign_of_life(worker_id: str) -> None:
    """Note that this worker lives now; what died long ago is forgotten."""
    now = timezone.now()
    WorkerSeen.objects.update_or_create(worker_id=worker_id, defaults={"seen_at": now})
    WorkerSeen.objects.filter(seen_at__lt=now - timedelta(days=1)).delete()


def lost_tasks_put_back() -> int:
    """Give tasks whose worker was killed another turn, or end them after MOST_TURNS; returns how many there were."""
    now, found = timezone.now(), 0
    alive = set(WorkerSeen.objects.filter(seen_at__gte=now - WORKER_LOST).values_list("worker_id", flat=True))
    for task in DBTaskResult.objects.running().filter(started_at__lt=now - WORKER_LOST):
        if task.worker_ids[-1] in alive:
            continue
        found += 1
        logger.warning("The worker of task id=%s was killed; turn %d ended.", task.id, len(task.worker_ids))
        if len(task.worker_ids) < MOST_TURNS:
            put_back(task)
        else:
            task.set_failed(RuntimeError("its workers were killed"))
    return found


def put_back(task: DBTaskResult, first_pause_s: float = FIRST_PAUSE_S) -> None:
    """Let a task wait for another turn, each time twice as long. Tasks of the house take each piece of work once."""
    pause_s = first_pause_s * 2 ** (len(task.worker_ids) - 1)
    logger.warning("Task id=%s gets another turn in %g s.", task.id, pause_s)
    mine = DBTaskResult.objects.filter(pk=task.pk, status=TaskResultStatus.RUNNING, started_at=task.started_at)
    mine.update(status=TaskResultStatus.READY, run_after=timezone.now() + timedelta(seconds=pause_s))
