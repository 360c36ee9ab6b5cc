"""Sentences about ticks of who is out and back."""

from zoneinfo import ZoneInfo

from participants.core.errors import CoreError


def tick_refused(refused: CoreError, time_zone: str) -> str:
    """Why a tick changed nothing."""
    at = refused.data.get("at")
    if at is None:
        return f"{refused.name} was not ticked, so there is nothing to take back."
    by = refused.data.get("by")
    who = f" by {by.get_full_name() or by.get_username()}" if by else ""
    return f"{refused.name} was ticked already at {at.astimezone(ZoneInfo(time_zone)):%H:%M}{who}."
