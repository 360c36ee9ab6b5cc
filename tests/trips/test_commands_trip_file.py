"""import_trip, export_trip, backup, restore and erase_health at the command line."""

import io
import json
import os
import stat
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.utils import timezone

from participants.models import HealthNote, HealthReading
from tests import factories
from tests.trips.command_line import run
from tests.trips.full_trip import full_trip
from tests.trips.made_once import forget_everything
from tests.trips.small_trip import small_trip
from trips import models
from trips.services.demo import DEMO_FILE
from trips.services.trip_file import trip_file_bytes
from trips.services.trip_file.tables import TABLES

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Where a small trip file lies."""
    path = tmp_path / "small.json"
    path.write_text(json.dumps(small_trip()), encoding="utf-8")
    return path


def test_a_trip_goes_from_a_file_into_the_database_and_back(file, tmp_path):
    ran = run("import_trip", file)
    assert (ran.code, ran.err) == (0, "")
    assert "Imported Small" in ran.out
    assert "changepassword anna" in ran.out
    out = tmp_path / "out.json"
    assert run("export_trip", "Small", out) == type(ran)(0, "", "")
    assert out.read_bytes() == trip_file_bytes(trip=models.Trip.objects.get())
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_an_export_goes_through_a_pipe_into_an_empty_database_and_out_again_byte_for_byte(tmp_path):
    """The commands themselves, in processes of their own, with a file as database; the demo's file is an export."""
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "DATABASE_URL": f"sqlite:///{tmp_path}/empty.sqlite3",
    }

    def manage(*arguments, given=b""):
        command = [sys.executable, "manage.py", *arguments]
        return subprocess.run(command, cwd=ROOT, env=environment, input=given, capture_output=True, check=False)

    before = DEMO_FILE.read_bytes()
    assert manage("migrate", "-v0").returncode == 0
    taken = manage("import_trip", "-", given=before)
    assert (taken.returncode, taken.stderr) == (0, b"")
    assert manage("export_trip", "Five hides in May", "-", "--with-health").stdout == before
    broken = manage("import_trip", "-", given=before[:5000])
    assert broken.returncode == 2
    assert broken.stderr.decode().startswith("-: the file is not JSON: it breaks at line ")
    assert broken.stderr.count(b"\n") == 1


def test_a_broken_file_is_one_sentence_and_two(file):
    file.write_text("{", encoding="utf-8")
    ran = run("import_trip", file)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == f"{file}: the file is not JSON: it breaks at line 1, column 2.\n"
    assert not models.Trip.objects.exists()


def test_a_file_that_is_not_there_or_is_a_folder_is_one_sentence(tmp_path):
    for path, reason in ((tmp_path / "none.json", "no such file"), (tmp_path, "is a directory")):
        ran = run("import_trip", path)
        assert ran.code == 2
        assert reason in ran.err
        assert ran.err.count("\n") == 1


def test_a_file_of_a_hundred_megabytes_is_refused(tmp_path):
    path = tmp_path / "large.json"
    with path.open("wb") as stream:
        stream.truncate(100 * 1024 * 1024)
    ran = run("import_trip", path)
    assert (ran.code, ran.err) == (2, f"{path}: the file is larger than the 32 MB that a trip file may have.\n")


def test_nothing_is_written_where_nobody_may_write(file, tmp_path):
    run("import_trip", file)
    ran = run("export_trip", "Small", tmp_path / "nowhere" / "out.json")
    assert ran.code == 2
    assert "cannot be written: no such file or directory." in ran.err
    assert run("export_trip", "Small", tmp_path).code == 2


def test_an_unknown_trip_is_answered_with_those_there_are():
    assert run("export_trip", "Mine", "-").err == "There is no trip 'Mine'; there are no trips at all yet.\n"
    factories.trip(name="May")
    ran = run("export_trip", "Mine", "-")
    assert (ran.code, ran.err) == (2, "There is no trip 'Mine'; there are 'May'.\n")


def test_two_trips_of_one_name_are_told_apart_by_uuid(tmp_path):
    one, two = factories.trip(name="May"), factories.trip(name="May")
    ran = run("export_trip", "May", "-")
    assert ran.code == 2
    assert str(one.uuid) in ran.err
    assert str(two.uuid) in ran.err
    assert run("export_trip", two.uuid, tmp_path / "two.json").code == 0
    assert str(two.uuid) in (tmp_path / "two.json").read_text(encoding="utf-8")
    assert run("export_trip", "may", tmp_path / "x.json").code == 2


def test_a_copy_and_a_leader_are_taken_from_the_options(file):
    run("import_trip", file)
    again = run("import_trip", file)
    assert again.code == 2
    assert "here already: import it as a copy (--copy)." in again.err
    assert run("import_trip", file, "--copy", "--leader", "berta").code == 0
    assert {trip.leader.get_username() for trip in models.Trip.objects.all()} == {"anna", "berta"}


def test_health_notes_leave_with_a_word_of_warning(tmp_path):
    trip = full_trip()
    assert run("export_trip", trip.uuid, tmp_path / "a.json").err == ""
    ran = run("export_trip", trip.uuid, tmp_path / "b.json", "--with-health")
    assert "health notes" in ran.err
    assert b"penicillin" not in (tmp_path / "a.json").read_bytes()
    assert b"penicillin" in (tmp_path / "b.json").read_bytes()


def test_a_backup_brings_everything_back(tmp_path):
    trip = full_trip()
    content = trip_file_bytes(trip=trip, with_health=True)
    counts = {table.name: table.model._default_manager.count() for table in TABLES}
    readings = HealthReading.objects.count()
    password = trip.leader.password
    rota = trip.rotas.get(state="issued")
    models.PaperPack.objects.create(
        trip=trip, rota=rota, state="finished", asked_at=timezone.now(), content=bytes(range(256))
    )
    assert run("backup", tmp_path / "all").code == 0
    assert stat.S_IMODE((tmp_path / "all").stat().st_mode) == 0o600
    forget_everything()
    HealthReading.objects.all().delete()
    assert run("restore", tmp_path / "all").code == 0
    back = models.Trip.objects.get(uuid=trip.uuid)
    assert trip_file_bytes(trip=back, with_health=True) == content
    assert {table.name: table.model._default_manager.count() for table in TABLES} == counts
    assert (back.leader.password, HealthReading.objects.count() > readings) == (password, True)
    assert bytes(models.PaperPack.objects.get().content) == bytes(range(256))
    assert factories.trip().pk > back.pk


def test_a_restore_over_data_needs_a_word_and_then_replaces_all(tmp_path):
    full_trip()
    run("backup", tmp_path / "all")
    other = factories.trip(name="Made later")
    ran = run("restore", tmp_path / "all")
    assert ran.code == 2
    assert "say --replace to lose them" in ran.err
    assert models.Trip.objects.filter(pk=other.pk).exists()
    assert run("restore", tmp_path / "all", "--replace").code == 0
    assert not models.Trip.objects.filter(name="Made later").exists()


@pytest.mark.parametrize(
    ("damage", "reason"),
    [
        (lambda data: data[:-300], "it breaks off before its end"),
        (lambda data: data[: len(data) // 2], "it breaks off before its end"),
        (lambda data: data.replace(b"Person", b"Nobody", 1), "it was changed or damaged after it was made"),
        (lambda data: b"", "it breaks off before its end"),
        (lambda data: b"{}\n", "it is no file of the backup command"),
        (lambda data: b"\xff\xfe\x00", "it is no file of the backup command"),
        (lambda data: data.replace(b'"trips": "0', b'"trips": "9', 1), "it was made with other tables (trips 9"),
        (
            lambda data: data.replace(b'"format_version": 1', b'"format_version": 9', 1),
            "it has version 9 of the format",
        ),
    ],
)
def test_a_damaged_backup_changes_nothing(tmp_path, damage, reason):
    trip = full_trip()
    run("backup", tmp_path / "all")
    (tmp_path / "all").write_bytes(damage((tmp_path / "all").read_bytes()))
    ran = run("restore", tmp_path / "all", "--replace")
    assert ran.code == 2
    assert reason in ran.err
    assert ran.err.count("\n") == 1
    assert models.Trip.objects.get().uuid == trip.uuid


def test_a_backup_whose_rows_do_not_fit_changes_nothing(tmp_path, monkeypatch):
    """The file is whole, but its last row cannot be stored: what was replaced before it comes back."""
    trip = full_trip()
    before = models.Happening.objects.count()
    run("backup", tmp_path / "all")
    lines = (tmp_path / "all").read_bytes().splitlines(keepends=True)
    lines[-2] = b'{"model": "trips.happening","pk": 999,"fields": {"colour": 1}}\n'
    (tmp_path / "all").write_bytes(resealed(lines[:-1]))
    ran = run("restore", tmp_path / "all", "--replace")
    assert ran.code == 2
    assert "does not fit" in ran.err
    assert models.Trip.objects.get().uuid == trip.uuid
    assert models.Happening.objects.count() == before


def resealed(lines: list[bytes]) -> bytes:
    """The lines with an end that fits them."""
    import hashlib

    content = b"".join(lines)
    end = {"rows": len(lines) - 1, "sha256": hashlib.sha256(content).hexdigest()}
    return content + json.dumps(end).encode() + b"\n"


def test_a_backup_comes_from_standard_input_too(tmp_path, monkeypatch):
    trip = full_trip()
    run("backup", tmp_path / "all")
    forget_everything()
    given = SimpleNamespace(buffer=io.BytesIO((tmp_path / "all").read_bytes()))
    monkeypatch.setattr(sys, "stdin", given)
    assert run("restore", "-").code == 0
    assert models.Trip.objects.get().uuid == trip.uuid


def test_health_notes_go_thirty_days_after_the_last_confirmed_trip():
    today = timezone.now().date()
    for ended_days_ago in (29, 30):
        day = today - timedelta(days=ended_days_ago)
        place = factories.place(trip=factories.trip(starts_on=day, ends_on=day))
        HealthNote.objects.create(participant=place.participant, text=f"{ended_days_ago}")
    HealthNote.objects.update(changed_at=timezone.now() - timedelta(days=60))
    ran = run("erase_health")
    assert (ran.code, ran.out) == (0, "Erased 1 health note.\n")
    assert HealthNote.objects.get().text == "29"
    assert run("erase_health").out == "Erased 0 health notes.\n"
