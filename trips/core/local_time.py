"""Clock times of a place: which moment is meant by a day, a clock time and a time zone."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from participants.core.errors import BadValue, CoreError


class ClockTimeMissing(CoreError):
    """A clock time that is skipped there that day.

    `day`, `clock`, `time_zone`; clocks go from `leaves` to `arrives` (local datetimes without zone).
    """


class ClockTimeTwice(CoreError):
    """A clock time that comes twice there that day.

    `day`, `clock`, `time_zone`; `first` and `second`: the two moments (aware, in that zone, to be shown).
    """


def nearest_minute(moment: datetime) -> datetime:
    """The whole minute as which a moment is printed, the later one of two as near."""
    return (moment + timedelta(seconds=30)).replace(second=0, microsecond=0)


def zone_of(time_zone: str) -> ZoneInfo:
    """The zone of an IANA name. Raises BadValue(field="time_zone") for any other name."""
    try:
        return ZoneInfo(time_zone)
    except (KeyError, ValueError, OSError, TypeError) as wrong:
        raise BadValue(field="time_zone", value=time_zone, low=None, high=None, unit="IANA name") from wrong


def moment_from_local(day: date, clock: time, time_zone: str, *, fold: int | None = None) -> datetime:
    """The moment when clocks at a place show a time.

    `day`, `clock`: as a person types them (a `fold` within `clock` is not looked at); `time_zone`: IANA name.
    `fold`: which of the two is meant if the time comes twice (0 the first, 1 the second); None: not said.
    Returns the moment in UTC (== cannot tell two equal clock times of one zone apart); never shifts a time.
    Raises ClockTimeMissing where clocks skip that time, ClockTimeTwice where it comes twice and `fold` is None,
    BadValue for an unknown zone. Valid as far as the installed time-zone table (tzdata) knows the rules.
    """
    zone = zone_of(time_zone)
    wall = datetime.combine(day, clock.replace(tzinfo=None, fold=0))
    try:
        earlier = wall.replace(tzinfo=zone)
        later = earlier.replace(fold=1)
        offset_before, offset_after = earlier.utcoffset(), later.utcoffset()
        within = earlier.astimezone(UTC), later.astimezone(UTC)
    except OverflowError as wrong:
        raise BadValue(field="day", value=day, low=date(1, 1, 2), high=date(9999, 12, 30), unit="day") from wrong
    assert offset_before is not None
    assert offset_after is not None
    if offset_before == offset_after:
        return within[0]
    if offset_after > offset_before:
        change = _change_between(within[1], within[0], zone).replace(tzinfo=None)
        raise ClockTimeMissing(
            day=day,
            clock=wall.time(),
            time_zone=time_zone,
            leaves=change + offset_before,
            arrives=change + offset_after,
        )
    if fold is None:
        raise ClockTimeTwice(day=day, clock=wall.time(), time_zone=time_zone, first=earlier, second=later)
    return within[1] if fold else within[0]


def _change_between(start: datetime, end: datetime, zone: ZoneInfo) -> datetime:
    """The first UTC second after `start`, up to `end`, at which the zone has the offset it has at `end`."""
    offset = end.astimezone(zone).utcoffset()
    low, high = start, end
    while high - low > timedelta(seconds=1):
        middle = low + timedelta(seconds=int((high - low).total_seconds()) // 2)
        if middle.astimezone(zone).utcoffset() == offset:
            high = middle
        else:
            low = middle
    return high
