"""The worker of django-tasks-db, which in this house outlives a busy database and a server that starts anew.

It works through its queues side by side, so that a plan, a pack of papers and mails never wait for one another.
"""

import logging
import os
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from threading import Thread
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection
from django.utils.autoreload import DJANGO_AUTORELOAD_ENV, run_with_reloader
from django_tasks_db.management.commands import db_worker
from django_tasks_db.models import DBTaskResult

from config.checks import require_safe_start
from config.workers import MAIL_PAUSE_S, MOST_TURNS, Outbox, SignsOfLife, put_back
from participants.mail import MailNotSent
from trips.services.busy import FIRST_PAUSE_S, is_busy, is_unwritable, patiently
from trips.services.notices import notices_send

TAKEN_OVER = ("interval", "batch", "backend_name", "startup_delay", "max_tasks", "worker_id")
MAIL_QUEUES = {"default", "*"}  # whoever works through these sends mails too
LANE_PAUSE_S = 5.0  # before a lane that broke starts anew

logger = logging.getLogger("fairhide")


class PatientWorker(db_worker.Worker):
    """Waits where the database is busy: to take up a task, within it, and to write down how it ended.

    `lanes`: workers of one queue each that run in threads beside it.
    """

    lanes: tuple["PatientWorker", ...] = ()

    def run(self) -> None:
        """Take up tasks until told to stop; beside them threads write signs of life, send mails and run the lanes."""
        queues = {*self.queue_names, *(name for lane in self.lanes for name in lane.queue_names)}
        with ExitStack() as beside:
            beside.enter_context(SignsOfLife(self.worker_id))
            if queues & MAIL_QUEUES:
                notices_send() if self.batch else beside.enter_context(Outbox())
            beside.enter_context(self._lanes_running())
            patiently(super().run)

    @contextmanager
    def _lanes_running(self) -> Iterator[None]:
        threads = [Thread(target=lane.keep_on, name=lane.queue_names[0], daemon=True) for lane in self.lanes]
        for thread in threads:
            thread.start()
        try:
            yield
        finally:  # also where a signal ends the wait for a task
            self._lanes_end()
            for thread in threads:
                thread.join()

    def keep_on(self) -> None:
        """Run as a lane; what breaks it is told, and it starts anew."""
        while self.running:
            try:
                patiently(super().run)
            except Exception:
                logger.exception("The queue %s broke off; it starts anew.", self.queue_names[0])
                time.sleep(LANE_PAUSE_S)
        connection.close()

    def shutdown(self, signum: int, frame: FrameType | None) -> None:
        """End after the tasks under way; at a second signal at once."""
        self._lanes_end()
        super().shutdown(signum, frame)

    def _lanes_end(self) -> None:
        for lane in self.lanes:
            lane.running = False

    def run_task(self, db_task_result: DBTaskResult) -> None:
        """Run a task; how it ended is written down for certain, or it would count as running for ever."""
        succeed, fail = db_task_result.set_successful, db_task_result.set_failed

        def ended_well(value: Any) -> None:
            patiently(lambda: succeed(value))

        def ended_badly(error: BaseException) -> None:
            is_mail = isinstance(error, MailNotSent) and not error.for_good
            again = (is_busy(error) or is_unwritable(error) or is_mail) and len(db_task_result.worker_ids) < MOST_TURNS
            pause_s = MAIL_PAUSE_S if is_mail else FIRST_PAUSE_S
            patiently(lambda: put_back(db_task_result, pause_s) if again else fail(error))

        vars(db_task_result).update(set_successful=ended_well, set_failed=ended_badly)
        super().run_task(db_task_result)


class Command(db_worker.Command):
    """The package's command with the patient worker."""

    help = "Plan, print and mail what the pages ask for, until stopped. Example: manage.py db_worker --queue-name plans"

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The package's options; without a queue named all of them are worked through."""
        super().add_arguments(parser)
        parser.set_defaults(queue_name=",".join(settings.QUEUES))

    def handle(self, *args: Any, **options: Any) -> None:
        """Start the worker; the options are the package's."""
        require_safe_start()
        self.configure_logging(options["verbosity"])
        queues = options["queue_name"].split(",")
        excluded = options["exclude_queues"].split(",") if options["exclude_queues"] else []
        if excluded and "*" not in queues:
            raise CommandError("--exclude-queues can only be used with --queue-name=*")
        taken_over = {name: options[name] for name in TAKEN_OVER} | {"excluded_queue_names": excluded}
        if options["batch"] or options["max_tasks"] is not None or "*" in queues:
            worker = PatientWorker(queue_names=queues, **taken_over)
        else:
            worker, *lanes = (PatientWorker(queue_names=[queue], **taken_over) for queue in queues)
            worker.lanes = tuple(lanes)
        reloads = options["reload"] and not options["batch"]
        if not reloads or os.environ.get(DJANGO_AUTORELOAD_ENV) == "true":
            worker.configure_signals()  # with a reloader only the child listens
        if reloads:
            run_with_reloader(worker.run)
        else:
            worker.run()
