from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from trips.management.plain_command import IMPOSSIBLE, PlainCommand, Refusal
from trips.selectors.day_state import OverdueLine, overdue_everywhere
from trips.services.overdue import overdue_tell


class Command(PlainCommand):
    """Name everybody who is overdue on any trip."""

    examples = ("",)
    help = (
        "Name everybody who is overdue on any trip, and end with 1; without anybody it prints nothing. Co-leaders get "
        "their mail, which a worker sends."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        lines = overdue_everywhere(now=now)
        for session in {line.session for line in lines}:
            overdue_tell(session=session, now=now)
        if lines:
            raise Refusal(*(_sentence(line) for line in lines), returncode=IMPOSSIBLE)


def _sentence(line: OverdueLine) -> str:
    zone = ZoneInfo(line.session.site.time_zone)
    where = f" in {line.hide.name}" if line.hide else ""
    ended = f"{line.session.ends_at.astimezone(zone):%H:%M}"
    return f"Overdue on {line.trip.name}: {', '.join(line.names)}{where}; the session ended at {ended}."
