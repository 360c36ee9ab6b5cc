"""Workers that live and workers that were killed: signs of life, and another turn for what a killed one left."""

import logging
import threading
from datetime import timedelta

from django.db import Error, connection
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from config.health import WORKER_BEAT, WORKER_LOST
from config.models import WorkerSeen
from trips.services.busy import FIRST_PAUSE_S, patiently

MOST_TURNS = 6  # of one task that meets a busy database or a killed worker, before it counts as failed

logger = logging.getLogger("fairhide")


class SignsOfLife:
    """Writes that a worker lives, every WORKER_BEAT, beside its task; and looks after the tasks of killed workers."""

    def __init__(self, worker_id: str) -> None:
        self.worker_id = worker_id
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._go_on, name="signs of life", daemon=True)

    def __enter__(self) -> "SignsOfLife":
        patiently(lambda: sign_of_life(self.worker_id))  # before it takes up a task, or that would count as lost
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        try:
            WorkerSeen.objects.filter(worker_id=self.worker_id).delete()
        except Error:  # it ends all the same, and counts as lost in two minutes
            connection.close()

    def _go_on(self) -> None:
        while not self._over.wait(WORKER_BEAT.total_seconds()):
            try:
                sign_of_life(self.worker_id)
                lost_tasks_put_back()
            except Error as error:  # locked or away: the next beat tries again on a new connection
                logger.info("No sign of life could be written: %s", type(error).__name__)
                connection.close()
        connection.close()


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


def put_back(task: DBTaskResult) -> None:
    """Let a task wait for another turn, each time twice as long. Tasks of the house take each piece of work once."""
    pause_s = FIRST_PAUSE_S * 2 ** (len(task.worker_ids) - 1)
    logger.warning("Task id=%s gets another turn in %g s.", task.id, pause_s)
    mine = DBTaskResult.objects.filter(pk=task.pk, status=TaskResultStatus.RUNNING, started_at=task.started_at)
    mine.update(status=TaskResultStatus.READY, run_after=timezone.now() + timedelta(seconds=pause_s))
