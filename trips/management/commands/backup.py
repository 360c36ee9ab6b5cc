from io import BytesIO
from typing import Any

from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, write_bytes
from trips.services.backup import backup_write


class Command(PlainCommand):
    """Write the whole database of this moment to one file (- for standard output)."""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="where to write it; - writes to standard output")

    def handle(self, *args: Any, **options: Any) -> None:
        content = BytesIO()
        rows = backup_write(content)
        write_bytes(options["file"], content.getvalue())
        self.stderr.write(f"{rows} rows; the file holds everything, health notes too: keep it safe.")
