"""What goes every night, and what stays."""

import os
import time
from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from participants.models import Device, LinkPress, Submission
from tests import factories
from tests.trips.command_line import run
from trips.management.plain_command import LEFTOVER_AGE_S, write_bytes
from trips.models import DriverList, Making, PaperPack
from trips.services import nightly as nights

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


def rows_of_age(days: float, mark: str) -> None:
    """A row of each kind that ended so many days ago."""
    now = timezone.now()
    ago = now - timedelta(days=days)
    Session.objects.create(session_key=mark, session_data="", expire_date=ago)
    Device.objects.create(participant=factories.participant(), session_digest=mark, signed_in_at=ago)
    LinkPress.objects.create(key=mark, pressed_at=ago)
    Submission.objects.create(client_uuid=uuid4(), kind=mark, taken_at=ago)
    PaperPack.objects.create(trip=factories.trip(), asked_at=ago, state="finished", content=b"PK")
    DriverList.objects.create(trip=factories.trip(), day=ago.date(), driver=mark)
    task = {"args_kwargs": {}, "task_path": mark, "backend_name": "default", "run_after": ago, "status": "SUCCESSFUL"}
    DBTaskResult.objects.create(**task, finished_at=ago, queue_name="plans")


def counts() -> list[int]:
    kinds = (Session, Device, LinkPress, Submission, PaperPack, DriverList, DBTaskResult)
    return [model.objects.count() for model in kinds]


def test_the_night_takes_what_is_old_and_leaves_what_is_in_use() -> None:
    rows_of_age(nights.FORMS_DAYS + 1, "old")
    rows_of_age(-1, "now")
    assert counts() == [2] * 7
    done = run("nightly")
    assert (done.code, done.err) == (0, "")
    assert done.out == (
        "Deleted: 1 sessions, 1 devices, 1 tries to sign in, 1 notes of forms, 1 drivers' lists, 1 tasks, "
        "1 packs of papers.\n"
    )
    assert counts() == [1] * 7
    assert run("nightly").out == "Nothing was due.\n"


def test_what_a_killed_worker_left_under_way_ends_by_the_next_night() -> None:
    now, trip = timezone.now(), factories.trip()
    Making.objects.create(trip=trip, state="running", started_at=now - timedelta(hours=3))
    PaperPack.objects.create(trip=trip, state="running", asked_at=now - timedelta(hours=3))
    run("nightly")
    assert (Making.objects.get().state, PaperPack.objects.get().state) == ("not_finished", "not_finished")


def test_a_file_written_again_takes_the_leftovers_of_killed_runs_away(tmp_path) -> None:
    old, fresh, other = (tmp_path / name for name in (".a.pdf.abcd1234", ".a.pdf.efgh5678", ".b.pdf.abcd1234"))
    for left in (old, fresh, other):
        left.touch()
    long_ago = time.time() - LEFTOVER_AGE_S - 60
    for left in (old, other):
        os.utime(left, (long_ago, long_ago))
    write_bytes(str(tmp_path / "a.pdf"), b"whole")
    assert sorted(path.name for path in tmp_path.iterdir()) == [fresh.name, other.name, "a.pdf"]
