"""Refusals about sessions, in words."""

from participants.core.errors import BadValue, CoreError, NeverHappens
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
    rotas = refused.data.get("rotas", ())
    if rotas:
        numbers = ", ".join(str(number) for number in rotas)
        return (
            f"This session has turns in rota {numbers}, and rotas are kept. "
            "Say on the day's page that no hide is open in it instead."
        )
    return "That is not possible for a session."
