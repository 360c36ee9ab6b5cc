"""Whether the house can serve: what a monitor asks at /health and `manage.py doctor` says in sentences."""

import shutil
import tempfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Case, Min, When
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from config.models import WorkerSeen
from trips.models import MailState, Notice

WORKER_BEAT = timedelta(seconds=20)
WORKER_LOST = timedelta(minutes=2)  # six beats: a busy SQLite may hold one back for 20 s
LONGEST_WAIT = timedelta(minutes=15)  # a pack of papers behind a long search takes minutes
LEAST_DISK_BYTES = 500_000_000  # a backup, a pack of papers and the database's own log beside it


@dataclass(frozen=True, slots=True)
class Sign:
    """One thing looked at. `value`: a figure or word for a monitor; `advice`: what to do where it is not well."""

    name: str
    well: bool
    value: float | str | None
    advice: str


def signs() -> list[Sign]:
    """All of them; those that need the database are left out where it does not answer."""
    found = [_disk(), _temporary_files()]
    try:
        connection.ensure_connection()
        now = timezone.now()
        found += [Sign("database", True, connection.vendor, ""), _migrations(), _worker(now), _queue(now)]
    except DatabaseError:
        found.append(Sign("database", False, None, "Start the database server, or correct DATABASE_URL."))
    return found


def _migrations() -> Sign:
    executor = MigrationExecutor(connection)
    waiting = len(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    return Sign("migrations_waiting", waiting == 0, waiting, "Run manage.py migrate.")


def _worker(now: datetime) -> Sign:
    seen = WorkerSeen.objects.order_by("-seen_at").values_list("seen_at", flat=True).first()
    age_s = None if seen is None else round((now - seen).total_seconds(), 1)
    well = age_s is not None and age_s < WORKER_LOST.total_seconds()
    return Sign("worker_seen_s", well, age_s, "No worker runs: start manage.py db_worker.")


def _queue(now: datetime) -> Sign:
    """How long the oldest task or mail that could be taken up has waited."""
    since = Case(When(run_after__lte=now, then="run_after"), default="enqueued_at")
    tasks = DBTaskResult.objects.ready().aggregate(oldest=Min(since))
    mails = Notice.objects.filter(mail=MailState.WAITING, mail_due_at__lte=now).aggregate(oldest=Min("mail_due_at"))
    waiting = [found["oldest"] for found in (tasks, mails) if found["oldest"] is not None]
    age_s = round((now - min(waiting)).total_seconds(), 1) if waiting else 0.0
    advice = "Work waits for long: start one more worker, or see what the running one does."
    return Sign("queue_age_s", age_s < LONGEST_WAIT.total_seconds(), age_s, advice)


def _disk() -> Sign:
    """Room where the database file lies, or where the code lies when the database is elsewhere."""
    name = str(settings.DATABASES["default"]["NAME"])
    folder = Path(name).parent if Path(name).is_absolute() else settings.BASE_DIR
    try:
        free = shutil.disk_usage(folder).free
    except OSError:
        return Sign("disk_free_bytes", False, None, f"The folder {folder} cannot be read.")
    return Sign("disk_free_bytes", free >= LEAST_DISK_BYTES, free, "The disk is nearly full: make room.")


def _temporary_files() -> Sign:
    """Papers and backups are written to a temporary file first."""
    try:
        with tempfile.TemporaryFile() as file:
            file.write(b"well")
            file.flush()
    except OSError:
        return Sign("temporary_files", False, "refused", f"No file can be written in {tempfile.gettempdir()}.")
    return Sign("temporary_files", True, "written", "")
