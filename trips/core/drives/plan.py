"""All drives of a trip: cars return before they leave again, and drivers are where their car is.

Out: in a session, runs that share a car or a driver are put into the order in which they leave latest, each so early
that the next can leave. Fetching: as near to the end of the session as cars and drivers that go out again allow.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import permutations

from trips.core.drives.rounds import (
    Bounds,
    Fetched,
    Round,
    fetch_best,
    latest_leave,
    minute_of,
    out_round,
)
from trips.core.drives.values import FETCH, OUT, Drive, Driving, Run, Stop

MOST_ORDERED = 4  # drives that depend on each other: all orders are tried; of more, one
SOON = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class _Errand:
    """A round to be placed: the run, the stops of this drive, and who rides."""

    run: Run
    stops: tuple[Stop, ...]
    riders: frozenset[str]
    starts_in: str = ""


def plan_drives(driving: Driving) -> tuple[Drive, ...]:
    """All drives, by session: out, then to fetch. Conflicts stay in the plan: `drive_faults` names them.

    Raises BadValue for negative minutes.
    """
    sessions = sorted({run.session for run in driving.runs})
    by_session = {session: [run for run in driving.runs if run.session == session] for session in sessions}
    outs = {session: _outs(driving, runs) for session, runs in by_session.items()}
    everything = [drive for drives in outs.values() for drive in drives]
    found: list[Drive] = []
    waiting: dict[str, str] = {}  # the hide where each car waits for its driver
    for session in sessions:
        waiting |= {drive.run.car: drive.ends_in for drive in outs[session] if drive.ends_in}
        fetches = _fetches(driving, by_session[session], everything, waiting)
        for drive in fetches:
            if drive.starts_in:
                del waiting[drive.run.car]
        found += [*outs[session], *fetches]
    return tuple(found)


def _outs(driving: Driving, runs: Sequence[Run]) -> list[Drive]:
    errands = [_errand(run, OUT, run.stops) for run in runs if any(stop.out for stop in run.stops)]
    rounds = {
        one.run.key: out_round(one.run, driving.rules, stays=_car_stays(driving, one, errands)) for one in errands
    }
    latest = {key: latest_leave(own, driving.rules) for key, own in rounds.items()}
    placed: dict[tuple[int, str, int], float] = {}
    for group in _linked(errands):
        group.sort(key=lambda one: (latest[one.run.key], one.run.key))
        tried = [_backward(order, rounds, latest) for order in _orders(group, _out_order_holds)]
        if tried:
            best = max(tried, key=lambda leaves: sum(leaves.values()))
            placed |= best
    drives = [own.drive(placed.get(key, latest[key])) for key, own in rounds.items()]
    return sorted(drives, key=lambda drive: (drive.leaves_at, drive.run.key))


def _backward(
    order: Sequence[_Errand], rounds: dict[tuple[int, str, int], Round], latest: dict[tuple[int, str, int], float]
) -> dict[tuple[int, str, int], float]:
    """The latest minutes at which the runs leave in that order, each back when one that depends on it leaves."""
    placed: dict[tuple[int, str, int], float] = {}
    for number in reversed(range(len(order))):
        key = order[number].run.key
        bounds = [placed[after.run.key] for after in order[number + 1 :] if _depend(order[number], after)]
        placed[key] = min([latest[key], *(float(math.floor(leave - rounds[key].length)) for leave in bounds)])
    return placed


def _car_stays(driving: Driving, errand: _Errand, errands: Sequence[_Errand]) -> bool:
    """Whether the driver sits at the last drop of the car's last run, so that the car waits there."""
    run = errand.run
    last = [stop for stop in run.stops if stop.out][-1]
    more = any(one.run.car == run.car and one.run.number > run.number for one in errands)
    return bool(run.driver) and run.driver in last.out and not more


def _fetches(driving: Driving, runs: Sequence[Run], outs: Sequence[Drive], waiting: dict[str, str]) -> list[Drive]:
    errands = [_errand(run, FETCH, group, waiting.get(run.car, "")) for run in runs for group in _together(run.stops)]
    drives: list[Drive] = []
    for group in _linked(errands):
        group.sort(key=lambda one: (min(stop.pick_up.opens_at for stop in one.stops), one.run.key))
        own = [Bounds(back_by=_leaves_again(one, outs)) for one in group]
        bounds = {id(one): bound for one, bound in zip(group, own, strict=True)}
        orders = list(_orders(group, _fetch_order_holds)) or [group]
        tried = [_fetched(driving, order, bounds) for order in orders]
        best = min(tried, key=lambda all_: (sum(one.misfit for one in all_), sum(one.off for one in all_)))
        drives += [one.round.drive(one.leaves) for one in best]
    return sorted(drives, key=lambda drive: (drive.leaves_at, drive.run.key))


def _fetched(driving: Driving, order: Sequence[_Errand], own: dict[int, Bounds]) -> list[Fetched]:
    """The pick-ups in that order: backward for when each has to be back, then forward for when its car is there."""
    back_by, last = dict[int, float](), dict[int, float]()
    for number in reversed(range(len(order))):
        one = order[number]
        after = [last[id(other)] for other in order[number + 1 :] if _depend(one, other)]
        back_by[id(one)] = min([own[id(one)].back_by, *after])
        best = _best(driving, one, Bounds(back_by=back_by[id(one)]))
        last[id(one)] = best.leaves if best.last == -math.inf else best.last
    placed: list[Fetched] = []
    for number, one in enumerate(order):
        before = [done.back for done, other in zip(placed, order[:number], strict=True) if _depend(other, one)]
        placed.append(_best(driving, one, Bounds(max([-math.inf, *before]), back_by[id(one)])))
    return placed


def _best(driving: Driving, errand: _Errand, bounds: Bounds) -> Fetched:
    return fetch_best(errand.run, errand.stops, driving.rules, errand.starts_in, bounds)


def _leaves_again(errand: _Errand, outs: Sequence[Drive]) -> float:
    """The first minute within a day at which the car, the driver or somebody fetched leaves again; inf without one."""
    run, due = errand.run, min(stop.due_at for stop in errand.stops)
    people = errand.riders | ({run.driver} - {""})
    leaves = [
        minute_of(drive.leaves_at)
        for drive in outs
        if drive.run.session != run.session
        and due < drive.back_at
        and drive.leaves_at < due + SOON
        and (drive.run.car == run.car or not people.isdisjoint((drive.run.driver, *drive.riders)))
    ]
    return min(leaves, default=math.inf)


def _errand(run: Run, kind: str, stops: Sequence[Stop], waits_in: str = "") -> _Errand:
    riders = frozenset(person for stop in stops for person in (stop.out if kind == OUT else stop.home))
    own = any(stop.hide == waits_in and run.driver in stop.home for stop in stops)
    return _Errand(run, tuple(stops), riders, waits_in if own and kind == FETCH else "")


def _together(stops: Sequence[Stop]) -> Iterator[list[Stop]]:
    """The stops with people to fetch, parted where the window of one opens after that of another has closed."""
    group: list[Stop] = []
    waiting = [stop for stop in stops if stop.home]
    for stop in sorted(waiting, key=lambda stop: (stop.pick_up.opens_at, stop.drive_min, stop.hide)):
        if group and stop.pick_up.opens_at > min(one.pick_up.closes_at for one in group):
            yield group
            group = []
        group.append(stop)
    if group:
        yield group


def _depend(one: _Errand, other: _Errand) -> bool:
    """Whether the two drives cannot be under way at once."""
    same_driver = bool(one.run.driver) and one.run.driver == other.run.driver
    rides = one.run.driver in other.riders or other.run.driver in one.riders
    return one.run.car == other.run.car or same_driver or rides


def _linked(errands: Sequence[_Errand]) -> list[list[_Errand]]:
    """The drives in groups that depend on each other, directly or through others."""
    groups: list[list[_Errand]] = []
    for errand in errands:
        apart = [group for group in groups if not any(_depend(errand, one) for one in group)]
        joined = [one for group in groups if any(_depend(errand, one) for one in group) for one in group]
        groups = [*apart, [*joined, errand]]
    return groups


def _orders(group: list[_Errand], holds: Callable[[_Errand, _Errand], bool]) -> Iterator[Sequence[_Errand]]:
    """The orders in which nobody drives from where they are not; only the given one of a large group."""
    tried = permutations(group) if len(group) <= MOST_ORDERED else iter([tuple(group)])
    for order in tried:
        if all(holds(one, after) for number, one in enumerate(order) for after in order[number + 1 :]):
            yield order


def _out_order_holds(one: _Errand, after: _Errand) -> bool:
    """A car's runs go by number; whoever was dropped drives no later run."""
    in_turn = one.run.car != after.run.car or one.run.number < after.run.number
    return in_turn and after.run.driver not in one.riders


def _fetch_order_holds(one: _Errand, after: _Errand) -> bool:
    """Whoever is fetched later drives no earlier pick-up, nor is their car there for it."""
    waits = bool(after.starts_in) and one.run.car == after.run.car
    return one.run.driver not in after.riders and not waits
