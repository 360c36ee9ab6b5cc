"""When a car leaves the lodge, when people sit, and when they are fetched.

Common practice, no source: people settle before the light comes, nobody walks in front of an open hide while the
light is on the perch, and the leader wants the sum written out so that anybody can do it again by head.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from participants.core.errors import BadValue

SET_UP_MIN = 15.0
STOP_MIN = 5.0
PICK_UP_WINDOW_MIN = 15.0


@dataclass(frozen=True, slots=True)
class Stop:
    """One drop of a car: the hide's key, when people sit there, and the way.

    `walk_min` and `drive_min`: from the drop to the seat and from the lodge to the drop, minutes, >= 0.
    `drop_min`: minutes this drop costs those who ride on; None = the trip's rule. `people`: how many get out here.
    """

    hide: str
    in_place_at: datetime
    walk_min: float
    drive_min: float
    drop_min: float | None = None
    people: int = 0


@dataclass(frozen=True, slots=True)
class Drop:
    """One drop as it will happen: when the car is there, when people are seated with their gear set up."""

    hide: str
    arrives_at: datetime
    seated_at: datetime
    spare_min: float


@dataclass(frozen=True, slots=True)
class CarRun:
    """A car's round: when it leaves the lodge, its drops in order, and how many people it cannot take."""

    leaves_at: datetime
    drops: tuple[Drop, ...]
    too_many: int = 0


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


def _nearest_minute(moment: datetime) -> datetime:
    return _whole_minute_down(moment + timedelta(seconds=30))


def in_place_time(starts_at: datetime, rule: InPlaceRule, *, kind: str, sunrise: datetime | None) -> datetime:
    """When people are to sit in the hide.

    `starts_at`: the session's start, or the hide's own start in it; `kind`: the session's kind; `sunrise`: of that
    local day, None where there is none. Only an early session has a rule that counts back from sunrise, which is
    taken to the minute, as it is printed. Result: aware datetime, whole minute. Raises BadValue for negative minutes.
    """
    _refuse_negative("before_sunrise_min", rule.before_sunrise_min or 0.0)
    _refuse_negative("settle_min", rule.settle_min)
    if kind == "early" and rule.before_sunrise_min is not None and sunrise is not None:
        printed = _nearest_minute(sunrise).astimezone(starts_at.tzinfo)
        return _whole_minute_down(_before(printed, rule.before_sunrise_min))
    return _whole_minute_down(_before(starts_at, rule.settle_min))


def in_driving_order(stops: Iterable[Stop]) -> tuple[Stop, ...]:
    """The stops by drive time, the nearest first; equal ones by the hide's key."""
    return tuple(sorted(stops, key=lambda stop: (stop.drive_min, stop.hide)))


def car_run(
    stops: Sequence[Stop], *, set_up_min: float = SET_UP_MIN, stop_min: float = STOP_MIN, seats: int | None = None
) -> CarRun:
    """When the car has to leave so that nobody sits down late.

    `stops`: in the order they are driven, at least one. `set_up_min`: from arriving at the seat to being ready.
    `stop_min`: what a drop costs those who ride on, unless the stop says otherwise. `seats`: for passengers.
    leaves = the least over the stops of in place - set-up - walk - drive - the drops before it; whole minute, early.
    Raises BadValue for no stop and for negative minutes.
    """
    if not stops:
        raise BadValue(field="stops", value=0, low=1, high=None, unit="")
    for stop in stops:
        for field in ("walk_min", "drive_min", "drop_min"):
            _refuse_negative(field, getattr(stop, field) or 0.0)
    earlier = 0.0
    ways: list[float] = []
    for stop in stops:
        ways.append(stop.drive_min + earlier)
        earlier += stop_min if stop.drop_min is None else stop.drop_min
    leaves_at = min(
        _whole_minute_down(_before(stop.in_place_at, set_up_min + stop.walk_min + way))
        for stop, way in zip(stops, ways, strict=True)
    )
    drops = tuple(_drop(stop, leaves_at, way, set_up_min) for stop, way in zip(stops, ways, strict=True))
    riders = sum(stop.people for stop in stops)
    return CarRun(leaves_at, drops, 0 if seats is None else max(0, riders - seats))


def _drop(stop: Stop, leaves_at: datetime, way_min: float, set_up_min: float) -> Drop:
    arrives_at = _after(leaves_at, way_min)
    seated_at = _after(arrives_at, stop.walk_min + set_up_min)
    spare_min = (stop.in_place_at - seated_at).total_seconds() / 60.0
    return Drop(stop.hide, arrives_at, seated_at, spare_min)


def pick_up_window(
    ends_at: datetime,
    light_classes: Iterable[str],
    *,
    window_min: float = PICK_UP_WINDOW_MIN,
    closed_until_end: bool = False,
) -> PickUp:
    """The window in which people are fetched after giving a signal.

    `ends_at`: the session's end (or the hide's own). `light_classes`: the hide's classes during the window; where one
    of them is front the leader is asked before a car is planned. `closed_until_end`: the doors stay shut until the
    end, so the window follows the end instead of leading to it. Raises BadValue for a negative window.
    """
    _refuse_negative("window_min", window_min)
    ask = "front" in set(light_classes)
    if closed_until_end:
        return PickUp(ends_at, _after(ends_at, window_min), ask)
    return PickUp(_before(ends_at, window_min), ends_at, ask)


def _refuse_negative(field: str, minutes: float) -> None:
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
