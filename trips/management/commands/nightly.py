from typing import Any

from django.utils import timezone

from trips.management.plain_command import PlainCommand
from trips.services.nightly import nightly


class Command(PlainCommand):
    """Delete what is no longer needed. Run it every night."""

    examples = ("",)
    help = (
        "Delete what is no longer needed: health notes that are due, sessions that ended, results of tasks, old packs "
        "of papers, and what issues kept that nobody sees any more. Run it every night."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        gone = [f"{count} {what}" for what, count in nightly(now=timezone.now()).items() if count]
        self.stdout.write(f"Deleted: {', '.join(gone)}." if gone else "Nothing was due.")
