"""Sentences about ticks of who is out and back."""

from zoneinfo import ZoneInfo

from participants.core.errors import CoreError

NOBODY_NAMED = "Nobody of this session was named: whoever was meant has no seat in it any more."


def tick_refused(refused: CoreError, time_zone: str) -> str:
    """Why a tick changed nothing."""
    at, out_at = refused.data.get("at"), refused.data.get("out_at")
    if out_at is not None:
        went = out_at.astimezone(ZoneInfo(time_zone))
        return (
            f"{refused.name} was ticked out at {went:%H:%M}, which is later than this tick: take that one back first."
        )
    if at is None:
        return f"{refused.name} was not ticked, so there is nothing to take back."
    by = refused.data.get("by")
    who = f" by {by.get_full_name() or by.get_username()}" if by else ""
    return f"{refused.name} was ticked already at {at.astimezone(ZoneInfo(time_zone)):%H:%M}{who}."
