"""What a monitor, a log and an admin get to know, and what they do not."""

import json
import re
import sys
from collections.abc import Iterator
from datetime import timedelta
from io import StringIO
from logging.config import dictConfig
from typing import Any

import pytest
from django.core import mail
from django.core.management import call_command
from django.db import OperationalError, connection, connections
from django.test import Client
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from config import health
from config.logs import BreakMail, logging_settings, redacted
from config.models import WorkerSeen
from config.workers import MOST_TURNS, lost_tasks_put_back, sign_of_life
from participants.tasks import device_added_send, person_link_send
from tests import factories
from tests.participants.mailroom import open_mailroom
from trips.services.busy import is_busy, patiently


def asked(client: Client) -> tuple[int, dict[str, Any]]:
    answer = client.get("/health")
    return answer.status_code, answer.json()["signs"]


@pytest.fixture
def worker() -> str:
    sign_of_life("w1")
    return "w1"


@pytest.mark.django_db
def test_a_house_in_order_is_well_and_tells_no_secret(client: Client, worker: str, settings: Any) -> None:
    status, signs = asked(client)
    assert status == 200, signs
    assert {name for name, sign in signs.items() if sign["well"]} == set(signs)
    page = client.get("/health").content.decode()
    assert settings.SECRET_KEY not in page
    assert str(settings.DATABASES["default"]["NAME"]) not in page


def test_without_a_worker_for_two_minutes_it_is_not_well(db: None, client: Client, worker: str, clock: Any) -> None:
    clock.moment += timedelta(seconds=121)
    status, signs = asked(client)
    assert (status, signs["worker_seen_s"]["well"]) == (503, False)


def test_work_that_waits_for_long_is_not_well(db: None, client: Client, clock: Any) -> None:
    device_added_send.enqueue("x", "x", "x")
    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(minutes=16))
    sign_of_life("w1")
    status, signs = asked(client)
    assert (status, signs["queue_age_s"]["well"]) == (503, False)
    assert signs["worker_seen_s"]["well"]


def test_a_full_disk_and_a_folder_that_takes_no_file_are_not_well(
    db: None, client: Client, worker: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(health, "LEAST_DISK_BYTES", 10**18)
    monkeypatch.setattr(health.tempfile, "tempdir", "/nowhere")
    status, signs = asked(client)
    assert status == 503
    assert [name for name, sign in signs.items() if not sign["well"]] == ["disk_free_bytes", "temporary_files"]


def test_a_database_without_an_answer_is_not_well_and_the_page_still_answers(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise OperationalError("no answer")

    monkeypatch.setattr(connections["default"], "ensure_connection", refuse)
    status, signs = asked(client)
    assert (status, signs["database"]["well"]) == (503, False)


@pytest.mark.django_db
def test_the_doctor_says_in_sentences_what_is_missing_and_fails() -> None:
    out = StringIO()
    with pytest.raises(SystemExit):
        call_command("doctor", stdout=out)
    assert "- No worker runs: start manage.py db_worker." in out.getvalue().splitlines()


# --- The log --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Not Found: /in/abc.DEF-123/", "Not Found: /in/..."),
        ("Not Found: /calendar/secret.ics", "Not Found: /calendar/..."),
        ("Gone: /password/new/MQ/abc-def/", "Gone: /password/new/..."),
        ("550 <ana.b+c@example.org> unknown", "550 <...> unknown"),
        ("Not Found: /in/open/", "Not Found: /in/open/"),
    ],
)
def test_what_opens_a_door_and_whom_one_writes_to_are_taken_out(text: str, expected: str) -> None:
    assert redacted(text) == expected


@pytest.fixture
def log(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Iterator[StringIO]:
    """What the log of this shape holds."""
    stream = StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    dictConfig(logging_settings("WARNING", request.param))
    yield stream
    dictConfig(settings.LOGGING)


@pytest.mark.parametrize("log", ["line"], indirect=True)
@pytest.mark.django_db
def test_the_number_on_an_error_page_leads_to_its_line_in_the_log(client: Client, log: StringIO) -> None:
    page = client.get("/in/secret-token-of-ana/x/")
    number = page.headers["X-Request-Number"]
    assert number in page.content.decode()
    (line,) = log.getvalue().splitlines()
    assert re.fullmatch(rf"\d{{4}}-\d\d-\d\dT[\d:]{{8}}Z WARNING django.request {number} Not Found: /in/\.\.\.", line)


@pytest.mark.parametrize("log", ["json"], indirect=True)
@pytest.mark.django_db
def test_a_log_for_programs_is_an_object_an_event(client: Client, log: StringIO) -> None:
    page = client.get("/nowhere/")
    (event,) = map(json.loads, log.getvalue().splitlines())
    assert event["request"] == page.headers["X-Request-Number"]
    assert (event["level"], event["logger"], event["message"]) == ("WARNING", "django.request", "Not Found: /nowhere/")
    assert event["time"].endswith("Z")


@pytest.mark.parametrize("log", ["line"], indirect=True)
@pytest.mark.django_db
def test_a_break_is_mailed_once_with_its_number_and_without_what_was_typed(
    log: StringIO, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken() -> None:
        raise RuntimeError("cannot write to ana@example.org")

    settings.ADMINS = [("Admin", "ops@example.org")]
    monkeypatch.setattr(BreakMail, "told_at", {})
    monkeypatch.setattr("config.views.signs", broken)
    client = Client(raise_request_exception=False)
    pages = [client.get("/health", {"secret": "typed"}) for _ in range(3)]
    assert pages[0].status_code == 500
    (told,) = mail.outbox
    assert pages[0].headers["X-Request-Number"] in told.subject
    assert "RuntimeError" in told.body
    assert "ana@example.org" not in told.body + log.getvalue()
    assert "typed" not in told.body


@pytest.mark.parametrize("log", ["line"], indirect=True)
@pytest.mark.django_db
def test_a_full_disk_is_a_sentence_on_the_page_and_in_the_log(log: StringIO, monkeypatch: pytest.MonkeyPatch) -> None:
    def full() -> None:
        raise OperationalError("database or disk is full")

    monkeypatch.setattr("config.views.signs", full)
    page = Client(raise_request_exception=False).get("/health")
    assert page.status_code == 507
    assert "Nothing can be saved now" in page.content.decode()
    (line,) = log.getvalue().splitlines()
    assert line.endswith("Insufficient Storage: /health (nothing can be saved, the disk is full or only reads)")


# --- Workers --------------------------------------------------------------------------------------------------------


def left_by(worker_id: str, turns: int = 1) -> DBTaskResult:
    """A task that a worker took up three minutes ago and has not ended."""
    device_added_send.enqueue("x", "x", "x")
    task = DBTaskResult.objects.get()
    task.status, task.started_at = TaskResultStatus.RUNNING, timezone.now() - timedelta(minutes=3)
    task.worker_ids = [worker_id] * turns
    task.save()
    return task


@pytest.mark.parametrize(
    ("worker_id", "turns", "state"),
    [
        ("w1", 1, TaskResultStatus.RUNNING),
        ("killed", 1, TaskResultStatus.READY),
        ("killed", MOST_TURNS, TaskResultStatus.FAILED),
    ],
    ids=["its worker lives", "another turn", "no turn left"],
)
@pytest.mark.django_db
def test_what_a_killed_worker_left_does_not_stay_running(worker: str, worker_id: str, turns: int, state: str) -> None:
    task = left_by(worker_id, turns)
    lost_tasks_put_back()
    task.refresh_from_db()
    assert task.status == state


@pytest.mark.django_db(transaction=True)
def test_a_worker_that_ends_in_order_leaves_no_sign_of_life() -> None:
    device_added_send.enqueue("x", "x", "x")
    call_command("db_worker", "--batch", "--no-startup-delay", "--interval", "0", verbosity=0)
    assert not WorkerSeen.objects.exists()
    assert DBTaskResult.objects.finished().count() == 1


@pytest.mark.parametrize(("refusal", "state"), [("busy", "READY"), ("refused", "FAILED")])
@pytest.mark.django_db(transaction=True)
def test_a_link_whose_mail_is_refused_for_a_while_gets_another_turn(refusal: str, state: str) -> None:
    person = factories.participant(email="ana@example.org")
    person_link_send.enqueue(str(person.uuid))
    with open_mailroom() as box:
        getattr(box, refusal).add(person.email)
        call_command("db_worker", "--batch", "--no-startup-delay", "--interval", "0", verbosity=0)
    assert DBTaskResult.objects.get().status == state


@pytest.mark.django_db(transaction=True)
def test_a_server_that_ends_the_connection_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    if connection.vendor != "postgresql":
        assert not is_busy(OperationalError("disk I/O error"))
        return
    monkeypatch.setattr("trips.services.busy.FIRST_PAUSE_S", 0.01)
    met: list[bool] = []

    def work() -> int:
        if not met:
            with connection.cursor() as cursor:
                met.append(True)
                cursor.execute("SELECT pg_terminate_backend(pg_backend_pid())")
        return WorkerSeen.objects.count()

    assert patiently(work) == 0
