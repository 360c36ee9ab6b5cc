import shutil
import sys
import tempfile
from pathlib import Path
from typing import IO, Any

from django.core.management.base import CommandParser

from trips.management.plain_command import STANDARD_STREAM, PlainCommand, Refusal, reason_words
from trips.management.sealed_file import unsealed
from trips.services.backup import BackupRefused, BackupSeen, DatabaseInUse, backup_look, backup_restore

IN_MEMORY_BYTES = 16 * 1024 * 1024  # a larger backup from standard input goes to a temporary file


class Command(PlainCommand):
    """Restore the whole database from a backup, or change nothing."""

    examples = ("latest.jsonl --check", "latest.jsonl --replace")

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a file of the backup command; - reads standard input")
        parser.add_argument("--replace", action="store_true", help="delete what the database holds now")
        parser.add_argument("--check", action="store_true", help="say what would happen, and change nothing")
        parser.add_argument("--key", metavar="FILE", default="", help="the secret key of an encrypted backup")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with self._opened(options["file"]) as file:
                stream = unsealed(file, options["key"])
                if options["check"]:
                    self._tell(backup_look(stream), replace=options["replace"])
                    return
                rows = backup_restore(stream, replace=options["replace"])
        except BackupRefused as refused:
            raise Refusal(refused.sentence) from refused
        except DatabaseInUse as used:
            raise Refusal(in_use_sentence(used.data["rows"])) from used
        self.stdout.write(f"Restored {rows} rows; everybody has to sign in again, participants by a new link.")

    def _tell(self, seen: BackupSeen, *, replace: bool) -> None:
        """What a restore would do; the refusal where it would be refused."""
        self.stdout.write(f"Made {seen.made_at}; whole, {sum(seen.rows.values())} rows, SHA-256 {seen.sha256}.")
        for kind, count in seen.rows.items():
            self.stdout.write(f"  {kind} {count}")
        self.stdout.write(f"Everybody would be signed out, {seen.sessions} sessions.")
        self.stdout.write(f"{seen.links} sign-in links of the backup would end; {seen.mails} mails would be held.")
        self.stdout.write(f"{seen.lost} rows that the database holds now would be lost.")
        if seen.lost and not replace:
            raise Refusal(in_use_sentence(seen.lost))

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


def in_use_sentence(rows: int) -> str:
    """What to do about rows that are there already."""
    return f"The database holds {rows} rows already: restore into an empty one, or say --replace to lose them."
