"""Refusals about sessions in words."""

from datetime import datetime

from participants.core.errors import BadValue, CoreError, NeverHappens, OutsideValidity
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice
from trips.documents.wording.clock import clock_time_missing, clock_time_twice


def session_refusal(refused: CoreError) -> str:
    """What is wrong with a session or a rule that makes sessions, and what to do."""
    if isinstance(refused, NeverHappens):
        return (
            f"There is no {refused.event} at this site on {refused.day:%-d %B %Y}: "
            "give a clock time instead, or leave that day out."
        )
    if isinstance(refused, ClockTimeMissing):
        return clock_time_missing(refused)
    if isinstance(refused, ClockTimeTwice):
        return clock_time_twice(refused)
    if isinstance(refused, BadValue):
        return f"{refused.value} is not possible for {refused.field.replace('_', ' ')}."
    if "other" in refused.data:
        one, other = (session_hours(*refused.data[which]) for which in ("one", "other"))
        seated = ", ".join(refused.data.get("people", ()))
        both = f"{seated} would sit in both" if seated else "nobody can sit in both"
        return (
            f"{one[:1].upper()}{one[1:]}, is at the same time as {other}, and {both}: "
            "change the hours of one of them, or leave one out."
        )
    if isinstance(refused, OutsideValidity):
        return f"The sun is computed for the years {refused.low} to {refused.high}, not {refused.value}."
    rotas = refused.data.get("rotas", ())
    if rotas:
        numbers = ", ".join(str(number) for number in rotas)
        return (
            f"This session has turns in rota {numbers}, and rotas are kept. "
            "Say on the day's page that no hide is open in it instead."
        )
    return "That is not possible for a session."


def session_hours(name: str, starts_at: datetime, ends_at: datetime) -> str:
    """A session by its hours on the site's clock: "early on 8 May, 06:45 to 10:45"."""
    next_day = f" on {ends_at:%-d %B}" if ends_at.date() != starts_at.date() else ""
    return f"{name} on {starts_at:%-d %B}, {starts_at:%H:%M} to {ends_at:%H:%M}{next_day}"
