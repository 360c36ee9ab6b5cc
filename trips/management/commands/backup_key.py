from typing import Any

from django.core.management.base import CommandParser

from trips.management.plain_command import PlainCommand, write_bytes
from trips.management.sealed_file import key_pair


class Command(PlainCommand):
    """Make a pair of keys for encrypted backups: the secret one into a file, the public one printed."""

    examples = ("backup-secret.txt",)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="where to write the secret key")

    def handle(self, *args: Any, **options: Any) -> None:
        secret, public = key_pair()
        write_bytes(options["file"], f"{secret}\n".encode())
        self.stderr.write("Keep the secret key away from this server: without it no encrypted backup opens.")
        self.stdout.write(public)
