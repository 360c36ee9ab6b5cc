"""When people are to sit in a hide, and the pick-up window in which they are fetched.

Common practice, no source: people settle before the light comes, and nobody walks in front of an open hide while the
light is on the perch.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from participants.core.errors import BadValue
from trips.core.local_time import nearest_minute

PICK_UP_WINDOW_MIN = 15.0  # what a driver can keep on dirt roads; common practice, no source


@dataclass(frozen=True, slots=True)
class PickUp:
    """The window in which people are fetched; `ask`: the light is still front, so the leader is asked first."""

    opens_at: datetime
    closes_at: datetime
    ask: bool = False


@dataclass(frozen=True, slots=True)
class InPlaceRule:
    """The hide's rule: so many minutes before sunrise (None = no rule), else so many before the session's start."""

    before_sunrise_min: float | None = None
    settle_min: float = 0.0


def _whole_minute_down(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)


def in_place_time(starts_at: datetime, rule: InPlaceRule, *, kind: str, sunrise: datetime | None) -> datetime:
    """When people are to sit in the hide.

    `starts_at`: the session's start, or the hide's own start in it; `kind`: the session's kind; `sunrise`: of that
    local day, None where there is none. Only an early session has a rule that counts back from sunrise, which is
    taken to the minute, as it is printed. Result: aware datetime, whole minute. Raises BadValue for negative minutes.
    """
    refuse_negative("before_sunrise_min", rule.before_sunrise_min or 0.0)
    refuse_negative("settle_min", rule.settle_min)
    if kind == "early" and rule.before_sunrise_min is not None and sunrise is not None:
        printed = nearest_minute(sunrise).astimezone(starts_at.tzinfo)
        return _whole_minute_down(_before(printed, rule.before_sunrise_min))
    return _whole_minute_down(_before(starts_at, rule.settle_min))


def pick_up_window(
    ends_at: datetime,
    light_classes: Iterable[str],
    *,
    window_min: float = PICK_UP_WINDOW_MIN,
    closed_until_end: bool = False,
) -> PickUp:
    """The pick-up window in which people are fetched after giving a signal.

    `ends_at`: the session's end (or the hide's own). `light_classes`: the hide's classes during it; where one of them
    is front the leader is asked before a car is planned. `closed_until_end`: the doors stay shut until the end, so it
    follows the end instead of leading to it. Raises BadValue for a negative length.
    """
    refuse_negative("window_min", window_min)
    ask = "front" in set(light_classes)
    if closed_until_end:
        return PickUp(ends_at, _after(ends_at, window_min), ask)
    return PickUp(_before(ends_at, window_min), ends_at, ask)


def refuse_negative(field: str, minutes: float) -> None:
    if minutes < 0:
        raise BadValue(field=field, value=minutes, low=0, high=None, unit="min")


def _before(moment: datetime, minutes: float) -> datetime:
    return _shifted(moment, -minutes)


def _after(moment: datetime, minutes: float) -> datetime:
    return _shifted(moment, minutes)


def _shifted(moment: datetime, minutes: float) -> datetime:
    """Elapsed minutes, also across a clock change (plain addition would move the hands of the clock instead)."""
    from_utc = moment.astimezone(UTC) + timedelta(minutes=minutes)
    return from_utc.astimezone(moment.tzinfo)
