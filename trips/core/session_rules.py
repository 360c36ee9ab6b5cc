"""Sessions made from rules such as "from 30 min before sunrise for 4 h" or "until 20 min after sunset for 4 h"."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import combinations
from typing import Protocol

from participants.core.errors import BadValue, NeverHappens
from trips.core.local_time import moment_from_local
from trips.core.sun import SUNRISE_DEG, day_events
from trips.core.values import SESSION_KINDS, Point

ANCHORS = ("sunrise", "sunset", "clock")
ROUND_MIN = 5  # people meet at round times
LONGEST_H = 24.0  # a longer stretch is two sessions


@dataclass(frozen=True, slots=True)
class SessionRule:
    """One session a day. `kind`: early, midday, late, night.

    `edge`: which end is fixed, "start" or "end"; `anchor`: sunrise, sunset or clock; `offset_min`: minutes after the
    anchor (negative: before); `clock`: the local time for the anchor "clock"; `hours`: the length, above 0 to 24.
    """

    kind: str
    edge: str
    anchor: str
    offset_min: float = 0.0
    clock: time | None = None
    hours: float = 4.0


@dataclass(frozen=True, slots=True)
class ProposedSession:
    """A session a rule makes on a day, beside the sun's own times (None where the sun does not rise or set)."""

    kind: str
    starts_at: datetime
    ends_at: datetime
    sunrise: datetime | None
    sunset: datetime | None


class Stretch(Protocol):
    """Anything that lasts from one moment to another."""

    @property
    def starts_at(self) -> datetime: ...

    @property
    def ends_at(self) -> datetime: ...


def overlapping(stretches: Sequence[Stretch]) -> list[tuple[int, int]]:
    """The pairs, by index, that share any time; one that begins as the other ends shares none."""
    return [
        (one, other)
        for (one, first), (other, second) in combinations(enumerate(stretches), 2)
        if first.starts_at < second.ends_at and second.starts_at < first.ends_at
    ]


def propose(rule: SessionRule, point: Point, day: date) -> ProposedSession:
    """The session of a rule on a local civil day, rounded to five minutes away from the anchor's inner side.

    A fixed start is rounded down, a fixed end up, so that nothing of the light asked for is cut.
    Raises BadValue for a rule that cannot be, NeverHappens(event, day) where its sunrise or sunset does not take place,
    ClockTimeMissing or ClockTimeTwice for such a clock time.
    """
    _check(rule)
    sunrise, sunset = _sun_times(point, day)
    fixed = _anchor(rule, point, day, {"sunrise": sunrise, "sunset": sunset}) + timedelta(minutes=rule.offset_min)
    length = timedelta(hours=rule.hours)
    if rule.edge == "start":
        starts_at = _rounded(fixed, up=False)
        return ProposedSession(rule.kind, starts_at, _later(starts_at, length), sunrise, sunset)
    ends_at = _rounded(fixed, up=True)
    return ProposedSession(rule.kind, _later(ends_at, -length), ends_at, sunrise, sunset)


def propose_all(rules: tuple[SessionRule, ...], point: Point, days: tuple[date, ...]) -> list[ProposedSession]:
    """All rules on all days, by start."""
    found = [propose(rule, point, day) for day in days for rule in rules]
    return sorted(found, key=lambda session: session.starts_at)


def _check(rule: SessionRule) -> None:
    if rule.kind not in SESSION_KINDS:
        raise BadValue(field="kind", value=rule.kind, low=None, high=None, unit="")
    if rule.anchor not in ANCHORS or rule.edge not in ("start", "end"):
        raise BadValue(field="anchor", value=rule.anchor, low=None, high=None, unit="")
    if not 0 < rule.hours <= LONGEST_H:
        raise BadValue(field="hours", value=rule.hours, low=0.0, high=LONGEST_H, unit="h")
    if rule.anchor == "clock" and rule.clock is None:
        raise BadValue(field="clock", value=None, low=None, high=None, unit="")


def _sun_times(point: Point, day: date) -> tuple[datetime | None, datetime | None]:
    events = day_events(point.latitude_deg, point.longitude_deg, day, point.time_zone)
    at_limit = [event for event in events if event.limit_deg == SUNRISE_DEG]
    rises = [event.moment for event in at_limit if event.rising]
    sets = [event.moment for event in at_limit if not event.rising]
    return (rises[0] if rises else None), (sets[-1] if sets else None)


def _anchor(rule: SessionRule, point: Point, day: date, sun: dict[str, datetime | None]) -> datetime:
    if rule.anchor == "clock" and rule.clock is not None:
        local = next(iter(moment for moment in sun.values() if moment is not None), None)
        moment = moment_from_local(day, rule.clock, point.time_zone)
        return moment if local is None else moment.astimezone(local.tzinfo)
    moment_or_none = sun[rule.anchor]
    if moment_or_none is None:
        raise NeverHappens(event=rule.anchor, day=day)
    return moment_or_none


def _rounded(moment: datetime, *, up: bool) -> datetime:
    """To whole five minutes of the clock, up or down."""
    step_s = ROUND_MIN * 60
    stamp = moment.timestamp()
    whole = -((-stamp) // step_s) if up else stamp // step_s
    return datetime.fromtimestamp(whole * step_s, moment.tzinfo)


def _later(moment: datetime, length: timedelta) -> datetime:
    """The moment so much real time later, across a change of clocks too."""
    return datetime.fromtimestamp(moment.timestamp() + length.total_seconds(), moment.tzinfo)
