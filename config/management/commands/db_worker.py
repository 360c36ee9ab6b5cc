"""The worker of django-tasks-db, which in this house outlives a busy database and a server that starts anew."""

import os
from typing import Any

from django.core.management.base import CommandError
from django.utils.autoreload import DJANGO_AUTORELOAD_ENV, run_with_reloader
from django_tasks_db.management.commands import db_worker
from django_tasks_db.models import DBTaskResult

from config.workers import MOST_TURNS, SignsOfLife, put_back
from trips.services.busy import is_busy, patiently

TAKEN_OVER = ("interval", "batch", "backend_name", "startup_delay", "max_tasks", "worker_id")


class PatientWorker(db_worker.Worker):
    """Waits where the database is busy: to take up a task, within it, and to write down how it ended."""

    def run(self) -> None:
        """Take up tasks until told to stop; beside them a thread writes signs of life."""
        with SignsOfLife(self.worker_id):
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
