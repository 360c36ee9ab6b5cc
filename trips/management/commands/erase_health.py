from typing import Any

from django.utils import timezone

from trips.management.plain_command import PlainCommand
from trips.services.health import KEPT_DAYS, health_erase_due


class Command(PlainCommand):
    """Erase health notes that are no longer needed. Run it every day."""

    examples = ("",)
    help = (
        f"Erase each health note {KEPT_DAYS} days after the last trip that its person is confirmed on or invited to, "
        "or after it was last written, whichever is later; run it every day."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        erased = health_erase_due(today=timezone.now().date())
        notes = "1 health note" if erased == 1 else f"{erased} health notes"
        self.stdout.write(f"Erased {notes}.")
