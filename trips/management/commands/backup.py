from io import BytesIO
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, write_bytes
from trips.management.sealed_file import sealed
from trips.services.backup import backup_write


class Command(PlainCommand):
    """Write the whole database of this moment to one file (- for standard output)."""

    examples = ("/var/backups/fairhide/latest.jsonl",)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="where to write it; - writes to standard output")
        key = "encrypt it for the holder of the secret key; without it BACKUP_PUBLIC_KEY of the environment, if set"
        parser.add_argument("--public-key", default="", help=key)

    def handle(self, *args: Any, **options: Any) -> None:
        content, key = BytesIO(), options["public_key"] or settings.BACKUP_PUBLIC_KEY
        rows = backup_write(content)
        write_bytes(options["file"], sealed(content.getvalue(), key) if key else content.getvalue())
        holds = "encrypted" if key else "the file holds everything, health notes too: keep it safe"
        self.stderr.write(f"{rows} rows; {holds}.")
