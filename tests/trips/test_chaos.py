"""Commands killed at any moment leave what they write whole or absent.

script/chaos kills as often as it is told; here is one kill.
"""

import os
import random
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.trips.own_database import ROOT, OwnDatabase
from trips.services.demo import DEMO_FILE

KILLS = int(os.environ.get("CHAOS_KILLS", "0"))  # of each command; none: one kill of the first
LONGEST_S = 6.0  # most commands have ended by then on an idle machine; those that have are checked as well
SEED = int(os.environ.get("CHAOS_SEED", "1"))


@dataclass(frozen=True)
class Victim:
    """A command, and what must hold of the rows before (`old`) and after (`new`) it was killed."""

    command: tuple[str, ...]
    holds: Callable[[dict[str, int], dict[str, int]], bool]


def whole_trips(old: dict[str, int], new: dict[str, int]) -> bool:
    """Each trip has all its rows: tables grow in step, by nothing or by one demo trip."""
    per_trip = {table: count / old["trips_trip"] for table, count in old.items() if count}
    return all(new[table] == one * new["trips_trip"] for table, one in per_trip.items())


def same_or_all(old: dict[str, int], new: dict[str, int]) -> bool:
    """As before, or as the backup has it, which is the same number of rows."""
    return old == new


VICTIMS = {
    "importing": Victim(("import_trip", str(DEMO_FILE), "--copy"), whole_trips),
    "restoring": Victim(("restore", "{folder}/backup", "--replace"), same_or_all),
    "writing a backup": Victim(("backup", "{folder}/backup"), same_or_all),
}
COUNTED = ("trips_trip", "trips_session", "trips_place", "trips_hide", "trips_seat", "trips_view", "trips_wish")


def rows_of(own: OwnDatabase) -> dict[str, int]:
    """How many rows the tables have; the file must be sound."""
    with closing(sqlite3.connect(own.path, timeout=20)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return {table: database.execute(f"SELECT COUNT(*) FROM {table}").fetchone()[0] for table in COUNTED}


def killed(own: OwnDatabase, command: list[str], after_s: float) -> None:
    """Start a command and kill it after a while, if it is still there."""
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    started = subprocess.Popen([sys.executable, "manage.py", *command], cwd=ROOT, env=own.environment, **quiet)
    try:
        started.wait(after_s)
    except subprocess.TimeoutExpired:
        started.send_signal(signal.SIGKILL)
        started.wait()


@pytest.mark.parametrize("name", list(VICTIMS)[: None if KILLS else 1])
def test_what_a_killed_command_writes_is_whole_or_absent(tmp_path: Path, name: str) -> None:
    own, victim, draw = OwnDatabase(tmp_path), VICTIMS[name], random.Random(SEED)
    assert own.manage("load_demo").returncode == 0
    if KILLS:
        assert own.manage("backup", f"{tmp_path}/backup").returncode == 0
    command = [part.format(folder=tmp_path) for part in victim.command]
    before = rows_of(own)
    for _ in range(KILLS or 1):
        killed(own, command, draw.uniform(0.2, LONGEST_S))
        assert victim.holds(before, rows_of(own))
    if KILLS:  # the backup is the old one or the new one, never half of one
        checked = own.manage("restore", f"{tmp_path}/backup", "--check", "--replace")
        assert checked.returncode == 0, checked.stderr
