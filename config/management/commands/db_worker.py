"""The worker of django-tasks-db, which in this house outlives a busy database."""

import os
from datetime import timedelta
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone
from django.utils.autoreload import DJANGO_AUTORELOAD_ENV, run_with_reloader
from django_tasks import TaskResultStatus
from django_tasks_db.management.commands import db_worker
from django_tasks_db.models import DBTaskResult

from trips.services.busy import FIRST_PAUSE_S, is_busy, patiently

MOST_TURNS = 6  # of one task that meets a busy database, before it counts as failed
TAKEN_OVER = ("interval", "batch", "backend_name", "startup_delay", "max_tasks", "worker_id")


class PatientWorker(db_worker.Worker):
    """Waits where the database is busy: to take up a task, within it, and to write down how it ended."""

    def run(self) -> None:
        """Take up tasks until told to stop."""
        patiently(super().run)

    def run_task(self, db_task_result: DBTaskResult) -> None:
        """Run a task; how it ended is written down for certain, or it would count as running for ever."""
        succeed, fail = db_task_result.set_successful, db_task_result.set_failed

        def ended_well(value: Any) -> None:
            patiently(lambda: succeed(value))

        def ended_badly(error: BaseException) -> None:
            again = is_busy(error) and len(db_task_result.worker_ids) < MOST_TURNS
            patiently(lambda: put_back(db_task_result) if again else fail(error))

        vars(db_task_result).update(set_successful=ended_well, set_failed=ended_badly)
        super().run_task(db_task_result)


def put_back(task: DBTaskResult) -> None:
    """Let a task wait for another turn, each time twice as long. Tasks of the house take each piece of work once."""
    pause_s = FIRST_PAUSE_S * 2 ** (len(task.worker_ids) - 1)
    db_worker.logger.warning("Task id=%s met a busy database; it gets another turn in %g s.", task.id, pause_s)
    task.status, task.run_after = TaskResultStatus.READY, timezone.now() + timedelta(seconds=pause_s)
    task.save(update_fields=["status", "run_after"])


class Command(db_worker.Command):
    """The package's command with the patient worker."""

    def handle(self, *args: Any, **options: Any) -> None:
        """Start the worker; the options are the package's."""
        self.configure_logging(options["verbosity"])
        queues = options["queue_name"].split(",")
        excluded = options["exclude_queues"].split(",") if options["exclude_queues"] else []
        if excluded and "*" not in queues:
            raise CommandError("--exclude-queues can only be used with --queue-name=*")
        taken_over = {name: options[name] for name in TAKEN_OVER}
        worker = PatientWorker(queue_names=queues, excluded_queue_names=excluded, **taken_over)
        reloads = options["reload"] and not options["batch"]
        if not reloads or os.environ.get(DJANGO_AUTORELOAD_ENV) == "true":
            worker.configure_signals()  # with a reloader only the child listens
        if reloads:
            run_with_reloader(worker.run)
        else:
            worker.run()
