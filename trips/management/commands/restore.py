import shutil
import sys
import tempfile
from pathlib import Path
from typing import IO, Any

from django.core.management.base import CommandParser

from trips.management.plain_command import STANDARD_STREAM, PlainCommand, Refusal, reason_words
from trips.services.backup import BackupRefused, DatabaseInUse, backup_restore

IN_MEMORY_BYTES = 16 * 1024 * 1024  # a larger backup from standard input goes to a temporary file


class Command(PlainCommand):
    """Restore the whole database from a backup, or change nothing."""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a file of the backup command; - reads standard input")
        parser.add_argument("--replace", action="store_true", help="delete what the database holds now")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with self._opened(options["file"]) as stream:
                rows = backup_restore(stream, replace=options["replace"])
        except BackupRefused as refused:
            raise Refusal(refused.sentence) from refused
        except DatabaseInUse as used:
            what = f"The database holds {used.rows} rows already"
            raise Refusal(f"{what}: restore into an empty one, or say --replace to lose them.") from used
        self.stdout.write(f"Restored {rows} rows; everybody has to sign in again, participants by a new link.")

    def _opened(self, name: str) -> IO[bytes]:
        if name == STANDARD_STREAM:
            kept = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115
            shutil.copyfileobj(sys.stdin.buffer, kept)
            kept.seek(0)
            return kept
        try:
            return Path(name).open("rb")
        except (OSError, ValueError) as wrong:
            raise Refusal(f"{name} cannot be read: {reason_words(wrong)}.") from wrong
