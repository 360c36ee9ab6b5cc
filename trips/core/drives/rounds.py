"""One drive alone: the latest moment it may leave, or the order and moment in which it fetches people best.

Hides are taken to lie on one road from the lodge: between two of them a car needs the difference of their drive times.
Where they lie another way, the leader types longer minutes for the drop. Common practice, no source.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, tzinfo
from itertools import permutations

from participants.core.errors import BadValue
from trips.core.drives.values import FETCH, OUT, Drive, DriveRules, Run, Stop, Visit
from trips.core.drives.windows import refuse_negative

ALL_ORDERS_TO = 3  # hides: all orders of a pick-up are tried; of more those that turn round once
ORDERS_TO = 6  # and up to so many hides all of those; of more, only all on the way out or all on the way home


@dataclass(frozen=True, slots=True)
class Round:
    """Hides in the order they are driven. Minutes: `offsets` of the arrivals from leaving, `length` until it is over.

    `starts_in`, `ends_in`: the hide where the car waits for its driver instead of the lodge.
    """

    kind: str
    run: Run
    stops: tuple[Stop, ...]
    offsets: tuple[float, ...]
    length: float
    starts_in: str = ""
    ends_in: str = ""

    def drive(self, leaves: float) -> Drive:
        """The drive that leaves at a minute since 1970."""
        zone = self.stops[0].in_place_at.tzinfo
        people = [stop.out if self.kind == OUT else stop.home for stop in self.stops]
        riders = sum(person != self.run.driver for own in people for person in own)
        return Drive(
            kind=self.kind,
            run=self.run,
            leaves_at=moment_of(leaves, zone),
            visits=tuple(
                Visit(stop.hide, moment_of(leaves + offset, zone), own)
                for stop, offset, own in zip(self.stops, self.offsets, people, strict=True)
            ),
            back_at=moment_of(leaves + self.length, zone),
            starts_in=self.starts_in,
            ends_in=self.ends_in,
            too_many=0 if self.run.seats is None else max(0, riders - self.run.seats),
        )


@dataclass(frozen=True, slots=True)
class Bounds:
    """Minutes since 1970 that a drive is to keep: not before the car or driver is free, back when they leave again."""

    not_before: float = -math.inf
    back_by: float = math.inf


@dataclass(frozen=True, slots=True)
class Fetched:
    """A pick-up as it was placed. `misfit`: minutes by which people are fetched too late or the car is back too late.

    `last`: the latest minute it could leave in any order without a misfit (-inf: there is none).
    """

    round: Round
    leaves: float
    misfit: float
    off: float
    last: float

    @property
    def back(self) -> float:
        """When it is over, minutes since 1970."""
        return self.leaves + self.round.length


def minute_of(moment: datetime) -> float:
    """A moment as minutes since 1970."""
    return moment.timestamp() / 60.0


def moment_of(minute: float, zone: tzinfo | None) -> datetime:
    """Minutes since 1970 as a moment; elapsed time, also across a clock change."""
    return datetime.fromtimestamp(minute * 60.0, UTC).astimezone(zone)


def in_driving_order(stops: Sequence[Stop], last: str = "") -> tuple[Stop, ...]:
    """The stops by drive time, the nearest first; equal ones by the hide's key. `last`: the hide that comes last."""
    return tuple(sorted(stops, key=lambda stop: (stop.hide == last, stop.drive_min, stop.hide)))


def driver_hide(driver: str, stops: Iterable[Stop]) -> str:
    """The hide to which a driver rides, "" where it is none of these."""
    return next((stop.hide for stop in stops if driver and driver in stop.out), "")


def with_untyped(run: Run, left: Sequence[Stop]) -> Run:
    """The run with these drops by drive time after its own, but before the one at which its driver parks."""
    last = max((number for number, stop in enumerate(run.stops) if stop.out), default=0)
    cut = last if driver_hide(run.driver, run.stops[last : last + 1]) else len(run.stops)
    untyped = in_driving_order(left, driver_hide(run.driver, left))
    return replace(run, stops=(*run.stops[:cut], *untyped, *run.stops[cut:]))


def out_round(run: Run, rules: DriveRules, *, stays: bool) -> Round:
    """The round that drops people in the run's order; `stays`: the car waits at the last drop."""
    stops = tuple(stop for stop in run.stops if stop.out)
    return _round(OUT, run, stops, rules, ("", stops[-1].hide if stays else ""))


def latest_leave(out: Round, rules: DriveRules) -> float:
    """The whole minute since 1970 at which a car has to leave so that nobody sits down late.

    The least over the stops of in place - set-up - walk - arrival. Raises BadValue for negative minutes.
    """
    refuse_negative("set_up_min", rules.set_up_min)
    return min(
        float(math.floor(minute_of(stop.in_place_at) - rules.set_up_min - stop.walk_min - offset))
        for stop, offset in zip(out.stops, out.offsets, strict=True)
    )


def fetch_best(run: Run, stops: Sequence[Stop], rules: DriveRules, starts_in: str, bounds: Bounds) -> Fetched:
    """The order and minute of a pick-up: least misfit, then nearest to when people should be fetched, then home early.

    Nobody is fetched before their window opens. `starts_in`: the car waits there, so that hide comes first.
    """
    found = [
        fetched
        for order in _pick_up_orders(stops, starts_in)
        for fetched in _placings(_round(FETCH, run, order, rules, (starts_in, "")), bounds)
    ]
    best = min(found, key=lambda one: (one.misfit, one.off, one.back, [stop.hide for stop in one.round.stops]))
    return replace(best, last=max(one.last for one in found))


def _round(kind: str, run: Run, stops: Sequence[Stop], rules: DriveRules, waits: tuple[str, str]) -> Round:
    if not stops:
        raise BadValue(field="stops", value=0, low=1, high=None, unit="")
    refuse_negative("stop_min", rules.stop_min)
    starts_in, ends_in = waits
    at, way, offsets = 0.0, stops[0].drive_min if starts_in else 0.0, []
    for stop in stops:
        for name in ("walk_min", "drive_min", "drop_min"):
            refuse_negative(name, getattr(stop, name) or 0.0)
        at += abs(stop.drive_min - way)
        offsets.append(at)
        at += rules.stop_min if stop.drop_min is None else stop.drop_min
        way = stop.drive_min
    length = offsets[-1] if ends_in else at + way
    return Round(kind, run, tuple(stops), tuple(offsets), length, starts_in, ends_in)


def _pick_up_orders(stops: Sequence[Stop], first: str) -> Iterator[tuple[Stop, ...]]:
    """Orders worth trying: on one road, each hide is fetched on the way out or on the way home."""
    head = tuple(stop for stop in stops if stop.hide == first)
    rest = in_driving_order([stop for stop in stops if stop.hide != first])
    if len(rest) <= ALL_ORDERS_TO:
        yield from ((*head, *order) for order in permutations(rest))
        return
    masks = range(1 << (len(rest) - 1)) if len(rest) <= ORDERS_TO else (0, (1 << (len(rest) - 1)) - 1)
    for mask in masks:
        home = [stop for number, stop in enumerate(rest) if mask >> number & 1]
        yield (*head, *(stop for stop in rest if stop not in home), *reversed(home))


def _placings(fetch: Round, bounds: Bounds) -> Iterator[Fetched]:
    """The pick-up at each minute that could be best: the figures judged change their slope nowhere else."""
    opens, closes, due = (
        [minute_of(moment) - offset for moment, offset in zip(moments, fetch.offsets, strict=True)]
        for moments in zip(*((s.pick_up.opens_at, s.pick_up.closes_at, s.due_at) for s in fetch.stops), strict=True)
    )
    earliest = float(math.ceil(max(*opens, bounds.not_before)))
    last = float(math.floor(min(*closes, bounds.back_by - fetch.length)))
    turns = {
        float(math.floor(minute)) for minute in (*closes, *due, bounds.back_by - fetch.length) if minute < math.inf
    }
    for leaves in {earliest, *(minute for minute in turns if minute > earliest)}:
        late = sum(max(0.0, leaves - minute) for minute in closes)
        over = max(0.0, leaves + fetch.length - bounds.back_by)
        off = sum(abs(leaves - minute) for minute in due)
        yield Fetched(fetch, leaves, late + over, off, last if last >= earliest else -math.inf)
