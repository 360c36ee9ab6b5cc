"""A database file of a test's own, and processes of the house that use it: commands, workers, short programs."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


class OwnDatabase:
    """Migrated; every process below runs in a clean environment with this database.

    `timeout_s`: how long a writer waits for the lock.
    """

    migrated: bytes = b""  # the file of the first one: the later ones of a run begin from it

    def __init__(self, folder: Path, *, timeout_s: float = 20) -> None:
        self.path = folder / "own.sqlite3"
        self.environment = {
            "PATH": os.environ["PATH"],
            "DATABASE_URL": f"sqlite:///{self.path}?timeout={timeout_s}",
            "SECRET_KEY": "a key of a test, long enough for the check: 0123456789abcdef",
            "DJANGO_SETTINGS_MODULE": "config.settings",
            "ALLOWED_HOSTS": "localhost",
            "PYTHONPATH": str(ROOT),
        }
        if OwnDatabase.migrated:
            self.path.write_bytes(OwnDatabase.migrated)
            return
        made = self.manage("migrate", "--verbosity", "0")
        assert made.returncode == 0, made.stderr
        with closing(sqlite3.connect(self.path)) as database:  # all of it in the one file
            database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        OwnDatabase.migrated = self.path.read_bytes()

    def manage(self, *command: str, given: str = "") -> subprocess.CompletedProcess[str]:
        """Run one command of manage.py to its end."""
        return subprocess.run(
            [sys.executable, "manage.py", *command],
            cwd=ROOT,
            env=self.environment,
            input=given,
            capture_output=True,
            text=True,
            check=False,
            timeout=240,
        )

    def worker(self, *options: str) -> subprocess.Popen[str]:
        """Start a worker; whoever starts it ends it."""
        command = [sys.executable, "manage.py", "db_worker", "--interval", "0.1", "--no-startup-delay", *options]
        return subprocess.Popen(command, cwd=ROOT, env=self.environment, stderr=subprocess.PIPE, text=True)

    def start(self, lines: str) -> subprocess.Popen[str]:
        """Start a short program inside Django; whoever starts it ends it."""
        text = f"import django\ndjango.setup()\n{lines}\n"
        return subprocess.Popen([sys.executable, "-c", text], cwd=ROOT, env=self.environment, text=True)

    def program(self, lines: str, timeout_s: float = 240) -> Any:
        """Run a short program inside Django; what it leaves in `answer` comes back."""
        text = f"import django\ndjango.setup()\n{lines}\nimport json\nprint(json.dumps(answer))\n"
        done = subprocess.run(
            [sys.executable, "-c", text],
            cwd=ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
            timeout=timeout_s,
        )
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)
