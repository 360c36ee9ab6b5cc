"""One writes while another reads for long, and what a page and a worker do where the database stays locked."""

import errno
import json
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from threading import Thread

import pytest
from django.contrib.auth import get_user_model
from django.db import OperationalError, connection, connections

from config.views import server_error
from tests.trips.own_database import OwnDatabase
from tests.waiting import until
from trips.management.plain_command import database_sentence
from trips.services.backup import backup_write
from trips.services.busy import is_busy, is_unwritable
from trips.services.snapshot import snapshot

LOCKED = "database is locked"


@pytest.fixture
def own(tmp_path: Path) -> OwnDatabase:
    return OwnDatabase(tmp_path, timeout_s=0.1)


def user_count() -> int:
    return get_user_model().objects.count()


def another_writes() -> None:
    """A user is made and committed over a connection of its own."""

    def write() -> None:
        try:
            get_user_model().objects.create(username=f"user {user_count()}")
        finally:
            connections.close_all()

    writer = Thread(target=write)
    writer.start()
    writer.join()


def numbers_of_a_snapshot() -> list[int]:
    """The users before and after another one is made while the snapshot is read, and once it is over."""
    with snapshot():
        before = user_count()
        another_writes()
        during = user_count()
    another_writes()
    return [before, during, user_count()]


def numbers_of_a_backup() -> list[int]:
    """The users in a backup while which another one is made, and those that are there afterwards."""

    class Interrupted(BytesIO):
        def write(self, data) -> int:
            if not self.tell():
                another_writes()
            return super().write(data)

    stream = Interrupted()
    backup_write(stream)
    rows = [json.loads(line) for line in stream.getvalue().splitlines()]
    return [sum(row.get("model") == "auth.user" for row in rows), user_count()]


@pytest.mark.parametrize(
    ("numbers", "expected"), [(numbers_of_a_snapshot, [0, 0, 2]), (numbers_of_a_backup, [0, 1])], ids=["rows", "backup"]
)
@pytest.mark.django_db(transaction=True)
def test_another_writes_while_a_snapshot_is_read_and_the_snapshot_stays(
    own: OwnDatabase, numbers: Callable[[], list[int]], expected: list[int]
) -> None:
    if connection.vendor == "sqlite":
        lines = f"from tests.trips.test_busy_database import {numbers.__name__} as numbers\nanswer = numbers()"
        assert own.program(lines) == expected
    else:
        assert numbers() == expected


def test_whoever_writes_after_a_snapshot_takes_the_lock_at_once_again(own: OwnDatabase) -> None:
    lines = (
        "from django.db import connection\nfrom trips.services.snapshot import snapshot\n"
        "with snapshot():\n    inside = connection.transaction_mode\n"
        "answer = [inside, connection.transaction_mode]"
    )
    assert own.program(lines) == ["DEFERRED", "IMMEDIATE"]


# --- A page ---------------------------------------------------------------------------------------------------------

ASK_FOR_A_LINK = """
import sqlite3
from django.conf import settings
from django.test import Client
settings.LOGGING_CONFIG = None
client = Client(raise_request_exception=False, headers={"host": "localhost"})
post = lambda: client.post("/in/", {"email": "ana@example.org"}, secure=True)
with sqlite3.connect(settings.DATABASES["default"]["NAME"], isolation_level=None) as other:
    other.execute("BEGIN IMMEDIATE")
    busy = post()
    read = client.get("/in/", secure=True).status_code
    other.execute("ROLLBACK")
answer = [busy.status_code, busy.headers.get("Retry-After"), busy.content.decode(), read, post().status_code]
"""


def test_a_page_that_cannot_write_says_that_the_house_is_busy_and_takes_the_form_afterwards(own: OwnDatabase) -> None:
    status, retry, page, read, afterwards = own.program(ASK_FOR_A_LINK)
    assert (status, retry, read) == (503, "10", 200)
    assert "Busy: try again in a moment" in page
    assert afterwards < 400


def test_only_a_locked_database_is_busy() -> None:
    assert is_busy(OperationalError(LOCKED))
    assert not is_busy(OperationalError("no such table: trips_trip"))
    assert not is_busy(ValueError(LOCKED))
    for words, status in (("database disk image is malformed", 500), ("database or disk is full", 507)):
        try:
            raise OperationalError(words)
        except OperationalError:
            assert server_error(None).status_code == status  # type: ignore[arg-type]
    assert is_unwritable(OSError(errno.ENOSPC, "No space left on device"))
    assert "busy" in database_sentence(OperationalError(LOCKED))


# Signed in, the session of a participant to be renewed; then nothing can be written any more.
READ_AND_WRITE = """
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse
from tests import factories
from tests.trips.issued_trips import issue, phone_of, seated_rota
settings.LOGGING_CONFIG, settings.SECURE_SSL_REDIRECT, settings.ALLOWED_HOSTS = None, False, ["testserver"]
trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
issue(seated_rota(trip))
person = trip.places.get().participant
leader, phone = Client(raise_request_exception=False), phone_of(person)
leader.force_login(trip.leader)
phone.raise_request_exception = False
session = phone.session
session["renewed_on"] = "2020-01-01"
session.save()
papers, calendar = reverse("trips:papers", args=[trip.uuid]), reverse("trips:my-calendar", args=[person.uuid])
connection.cursor().execute("PRAGMA query_only=1")
first = [leader.get(papers).status_code, phone.get(calendar).status_code]
connection.cursor().execute("PRAGMA query_only=0")
leader.get(papers)  # the first look makes its calendars' addresses
connection.cursor().execute("PRAGMA query_only=1")
asked = [(leader, name, trip) for name in ("trip-show", "papers", "told-list")]
asked += [(phone, name, person) for name in ("my-days", "my-briefing")]
read = [browser.get(reverse(f"trips:{name}", args=[whose.uuid])).status_code for browser, name, whose in asked]
answer = leader.post(reverse("trips:papers-print", args=[trip.uuid]), {"page_size": "A4"})
answer = [first, read, answer.status_code, answer.content.decode()]
"""


def test_where_nothing_can_be_saved_pages_are_read_and_what_is_sent_is_told_so(own: OwnDatabase) -> None:
    first, read, status, page = own.program(READ_AND_WRITE)
    assert first == [507, 507]
    assert set(read) == {200}
    assert status == 507
    assert "Nothing can be saved now" in page


# --- A worker -------------------------------------------------------------------------------------------------------


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Somebody else writes for as long as this lasts."""
    other = sqlite3.connect(path, timeout=20, isolation_level=None)
    try:
        other.execute("BEGIN IMMEDIATE")
        yield
    finally:
        other.close()


@pytest.fixture
def work(own: OwnDatabase, tmp_path: Path) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts the worker, of one queue unless a test names more; it must live until the test is over."""
    started: list[subprocess.Popen[str]] = []

    def start(queues: str = "default") -> subprocess.Popen[str]:
        started.append(own.worker("--queue-name", queues))
        return started[0]

    yield start
    for process in started:
        ended = process.poll()
        process.kill()
        process.wait(timeout=30)
        assert ended is None


def order(own: OwnDatabase, folder: Path, username: str = "") -> None:
    own.program(
        "from tests.trips.busy_task import wait_and_write\n"
        f"answer = str(wait_and_write.enqueue({str(folder)!r}, {username!r}).id)"
    )


def told(process: subprocess.Popen[str], words: str) -> str:
    """The next line of the log with these words."""
    assert process.stderr is not None
    for line in process.stderr:
        if words in line:
            return line
    raise AssertionError(f"the worker ended and never said: {words}")


def task_state(own: OwnDatabase) -> tuple[str, int]:
    """How the only task stands, and how often it was taken up."""
    with sqlite3.connect(own.path, timeout=20) as database:
        status, workers = database.execute(
            "SELECT status, json_array_length(worker_ids) FROM django_tasks_database_dbtaskresult"
        ).fetchone()
        return status, workers


def test_a_worker_waits_ever_longer_for_a_locked_database_and_then_takes_up_its_task(own, work, tmp_path) -> None:
    order(own, tmp_path)
    (tmp_path / "go").touch()
    with locked(own.path):
        worker = work()
        assert told(worker, "busy").endswith("The database is busy; trying again in 1 s.\n")
        assert told(worker, "busy").endswith("The database is busy; trying again in 2 s.\n")
        assert task_state(own) == ("READY", 0)
    until(lambda: task_state(own) == ("SUCCESSFUL", 1))


def test_a_task_that_ends_while_the_database_is_locked_does_not_stay_running(own, work, tmp_path) -> None:
    order(own, tmp_path)
    worker = work()
    until((tmp_path / "started").exists)
    with locked(own.path):
        (tmp_path / "go").touch()
        told(worker, "The database is busy")
        assert task_state(own) == ("RUNNING", 1)
    until(lambda: task_state(own) == ("SUCCESSFUL", 1))


def test_a_task_that_meets_a_locked_database_itself_gets_another_turn(own, work, tmp_path) -> None:
    order(own, tmp_path, username="ana")
    worker = work()
    until((tmp_path / "started").exists)
    with locked(own.path):
        (tmp_path / "go").touch()
        told(worker, "gets another turn")
    until(lambda: task_state(own) == ("SUCCESSFUL", 2))
    assert own.program("from django.contrib.auth.models import User\nanswer = User.objects.count()") == 1


def test_a_plan_papers_and_mails_never_wait_for_one_another(own, work, tmp_path) -> None:
    folders = {queue: tmp_path / queue for queue in ("plans", "papers", "default")}
    for queue, folder in folders.items():
        folder.mkdir()
        own.program(
            "from tests.trips.busy_task import wait_and_write\n"
            f"answer = str(wait_and_write.using(queue_name={queue!r}).enqueue({str(folder)!r}, '').id)"
        )
    work("plans,papers,default")
    until(lambda: all((folder / "started").exists() for folder in folders.values()), what="all three at once")
    for folder in folders.values():
        (folder / "go").touch()


def test_a_worker_told_to_end_first_ends_what_it_has_begun(own, tmp_path) -> None:
    order(own, tmp_path)
    worker = own.worker()
    try:
        until((tmp_path / "started").exists)
        worker.terminate()
        told(worker, "shutting down")
        (tmp_path / "go").touch()
        assert worker.wait(timeout=120) == 0
    finally:
        worker.kill()
    assert task_state(own) == ("SUCCESSFUL", 1)
