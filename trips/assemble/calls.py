"""When cars leave for a session's hides: rows of cars and runs, with the sun of the day, into times to leave."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from trips.assemble.trip import TripValues
from trips.core.calls import InPlaceRule, PickUp, Stop, car_run, in_driving_order, in_place_time, pick_up_window
from trips.core.light import SessionLight
from trips.core.sun import SUNRISE_DEG, day_events
from trips.core.values import Hide, Session
from trips.models import Car, Run


@dataclass(frozen=True, slots=True)
class HideCall:
    """When one hide's people leave, sit and are fetched, and who drives. `car` is "" where none is named."""

    hide: str
    leaves_at: datetime
    arrives_at: datetime
    seated_at: datetime
    in_place_at: datetime
    pick_up: PickUp
    car: str = ""
    plate: str = ""
    driver: str = ""
    too_many: int = 0


@dataclass(frozen=True)
class TripCars:
    """The cars of a trip and the runs the leader named, by session row id."""

    cars: tuple[Car, ...]
    runs: dict[int, tuple[Run, ...]] = field(default_factory=dict)


def trip_cars(values: TripValues) -> TripCars:
    """Read all cars and runs of a trip in three queries."""
    runs: dict[int, tuple[Run, ...]] = {}
    rows = Run.objects.filter(session__trip=values.trip).select_related("car").prefetch_related("stops__hide")
    for run in rows.order_by("car__name", "pk"):
        runs[run.session_id] = (*runs.get(run.session_id, ()), run)
    return TripCars(tuple(values.trip.cars.all()), runs)


def session_calls(
    values: TripValues,
    cars: TripCars,
    session_key: str,
    occupied: Mapping[str, int],
    lights: Mapping[tuple[str, str], SessionLight],
) -> dict[str, HideCall]:
    """When to leave for a session's hides in use, by hide key. `occupied`: how many people sit in each.

    One car does all, by drive time, unless the leader named runs; a hide that no run stops at rides with the first.
    `lights`: by (hide key, session key), for the pick-up question.
    """
    session = values.session(session_key)
    row = next(row for row in values.session_rows if str(row.uuid) == session_key)
    hours = {str(state.hide.uuid): (state.starts_at, state.ends_at) for state in row.session_hides.all()}
    stops = {}
    for key, people in sorted(occupied.items()):
        hide = values.hide(key)
        in_place = _in_place(hide, session, hours.get(key, (None, None))[0] or session.starts_at, values)
        stops[key] = Stop(key, in_place, hide.walk_min, hide.drive_min, people=people)
    found: dict[str, HideCall] = {}
    for car, ordered in _rounds(cars, row.pk, stops):
        seats = car.seats if car else None
        done = car_run(ordered, set_up_min=values.rules.set_up_min, stop_min=values.rules.stop_min, seats=seats)
        for stop, drop in zip(ordered, done.drops, strict=True):
            ends_at = hours.get(stop.hide, (None, None))[1] or session.ends_at
            found[stop.hide] = HideCall(
                hide=stop.hide,
                leaves_at=done.leaves_at,
                arrives_at=drop.arrives_at,
                seated_at=drop.seated_at,
                in_place_at=stop.in_place_at,
                pick_up=_pick_up(values, stop.hide, session, ends_at, lights.get((stop.hide, session_key))),
                car=car.name if car else "",
                plate=car.plate if car else "",
                driver=car.driver if car else "",
                too_many=done.too_many,
            )
    return found


def _rounds(cars: TripCars, session_id: int, stops: dict[str, Stop]) -> list[tuple[Car | None, tuple[Stop, ...]]]:
    """Each car with its stops in the order they are driven."""
    runs = cars.runs.get(session_id, ())
    if not runs:
        car = cars.cars[0] if len(cars.cars) == 1 else None
        return [(car, in_driving_order(stops.values()))] if stops else []
    left = dict(stops)
    rounds: list[tuple[Car | None, tuple[Stop, ...]]] = []
    for run in runs:
        own = []
        for stop_row in run.stops.all():
            stop = left.pop(str(stop_row.hide.uuid), None)
            if stop is not None:
                own.append(_with_leg(stop, stop_row.leg_min))
        rounds.append((run.car, tuple(own)))
    if left:
        rounds[0] = (rounds[0][0], (*rounds[0][1], *in_driving_order(left.values())))
    return [(car, own) for car, own in rounds if own]


def _with_leg(stop: Stop, leg_min: float | None) -> Stop:
    return Stop(stop.hide, stop.in_place_at, stop.walk_min, stop.drive_min, leg_min, stop.people)


def _in_place(hide: Hide, session: Session, starts_at: datetime, values: TripValues) -> datetime:
    starts_at = starts_at.astimezone(session.starts_at.tzinfo)
    rule = InPlaceRule(hide.in_place_min_before_sunrise, values.rules.settle_min)
    return in_place_time(starts_at, rule, kind=session.kind, sunrise=sunrise_of(hide, starts_at))


def sunrise_of(hide: Hide, moment: datetime) -> datetime | None:
    """Sunrise at a hide on the local day of a moment; None where the sun does not rise."""
    point = hide.point
    events = day_events(point.latitude_deg, point.longitude_deg, moment.date(), point.time_zone)
    return next((event.moment for event in events if event.limit_deg == SUNRISE_DEG and event.rising), None)


def _pick_up(
    values: TripValues, hide_key: str, session: Session, ends_at: datetime, light: SessionLight | None
) -> PickUp:
    ends_at = ends_at.astimezone(session.starts_at.tzinfo)
    hide = values.hide(hide_key)
    closed = hide.doors in ("session", "all_day")
    window_min = values.rules.pick_up_window_min
    window = pick_up_window(ends_at, (), window_min=window_min, closed_until_end=closed)
    met = [
        part.name
        for view in (light.views if light else ())
        for part in view.intervals
        if part.starts_at < window.closes_at and part.ends_at > window.opens_at
    ]
    return pick_up_window(ends_at, met, window_min=window_min, closed_until_end=closed)
