"""What leaders write on the day: cars, their runs, the availability, and who is out and back."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.models import Car, Hide, OutBack, Run, RunStop, Session, SessionHide, Trip
from trips.selectors.out_back import Ticked
from trips.services.names import names_free
from trips.services.staleness import drives_changed

DRIVER_COLUMNS = ("driver", "driver_place_id", "driver_leader_id")


class CarNameTaken(CoreError):
    """Another car of the trip got that name meanwhile: `name`."""


class RunsChanged(CoreError):
    """The session's runs are no longer those the form was filled from."""


class AlreadyTicked(CoreError):
    """Somebody else ticked first: `name`, `at`, `by`."""


class BackBeforeOut(CoreError):
    """A tick that somebody was back before they went out: `name`, `out_at`."""


class NotOut(CoreError):
    """A tick that there is nothing to take back of: `name`."""


@dataclass(frozen=True)
class PlannedStop:
    """One hide's place in a car's round; `leg_min` None: by the trip's rule."""

    hide: Hide
    car: Car
    position: int
    leg_min: float | None = None
    number: int = 1


@transaction.atomic
def cars_save(*, trip: Trip, changed: Iterable[tuple[Car, int | None]], deleted: Iterable[Car]) -> None:
    """Save new and changed cars, and delete others with their runs.

    Raises `Stale` where somebody changed one since, CarNameTaken where somebody added one of that name.
    """
    deleted = list(deleted)
    for car in deleted:
        car.delete()
    if deleted:
        drives_changed(trip)
    changed = list(changed)
    names_free(car for car, _ in changed if car.pk)
    for car, seen_version in changed:
        car.trip = trip
        try:
            with transaction.atomic():
                if car.pk is None:
                    car.save()
                else:
                    row_save(row=car, seen_version=seen_version)
        except IntegrityError as taken:
            raise CarNameTaken(name=car.name) from taken


@transaction.atomic
def availability_save(*, session: Session, says: Iterable[tuple[SessionHide, int]]) -> None:
    """What the owner says of hides in a session; `Stale` where somebody else wrote it since the form was opened.

    Each with the version the form saw, 0 where there was no line yet.
    """
    for say, seen_version in says:
        say.session = session
        if say.pk is None:
            say.save()
        else:
            row_save(row=say, seen_version=seen_version)


def runs_seen(session: Session) -> str:
    """The session's runs as a short text, to tell whether they changed."""
    stops = RunStop.objects.filter(run__session=session).order_by("run__car_id", "run__number", "position")
    columns = ("run__car_id", "run__number", "hide_id", "leg_min", *(f"run__{name}" for name in DRIVER_COLUMNS))
    return ";".join(",".join(map(str, line)) for line in stops.values_list(*columns))


@transaction.atomic
def runs_save(
    *,
    session: Session,
    stops: Iterable[PlannedStop],
    seen: str,
    also: Iterable[Session] = (),
    drivers: Mapping[tuple[int, int], Mapping[str, Any]] | None = None,
) -> None:
    """Replace the runs of a session, and of the sessions in `also`, where they are others than stored.

    Raises RunsChanged where `seen` is outdated.

    `drivers`: the columns of who drives, by (car row id, number of its run), where it is not the car's own driver.
    """
    locked = Session.objects.select_for_update().get(pk=session.pk)
    if runs_seen(locked) != seen:
        raise RunsChanged()
    stops = list(stops)
    wanted = [(one, _runs_planned(one, stops, drivers or {})) for one in (locked, *also)]
    changed = [(one, planned) for one, planned in wanted if planned != _runs_stored(one)]
    if changed:
        drives_changed(session.trip)
    for one, planned in changed:
        one.runs.all().delete()
        for (car, number), (driver, drops) in planned.items():
            run = Run.objects.create(session=one, car_id=car, number=number, **driver)
            for position, (hide, leg_min) in enumerate(drops, start=1):
                RunStop.objects.create(run=run, hide_id=hide, position=position, leg_min=leg_min)


Runs = dict[tuple[int, int], tuple[dict[str, Any], list[tuple[int, float | None]]]]


def _runs_planned(
    session: Session, stops: Iterable[PlannedStop], drivers: Mapping[tuple[int, int], Mapping[str, Any]]
) -> Runs:
    """The columns of who drives, and (row id of the hide, minutes) of each drop in order, by car row id and number."""
    planned: Runs = {}
    for stop in sorted(stops, key=lambda stop: (stop.car.name, stop.number, stop.position)):
        if stop.hide.site_id == session.site_id:
            key = (stop.car.pk, stop.number)
            driver = {"driver": "", "driver_place_id": None, "driver_leader_id": None} | dict(drivers.get(key, {}))
            planned.setdefault(key, (driver, []))[1].append((stop.hide.pk, stop.leg_min))
    return planned


def _runs_stored(session: Session) -> Runs:
    """The same of the runs that a session has."""
    return {
        (run.car_id, run.number): (
            {name: getattr(run, name) for name in DRIVER_COLUMNS},
            [(stop.hide_id, stop.leg_min) for stop in run.stops.all()],
        )
        for run in session.runs.prefetch_related("stops")
    }


@dataclass(frozen=True)
class Tick:
    """What is ticked ("out", "back", or "undo": the last tick is taken back), by whom and when."""

    what: str
    by: Any
    at: datetime


@transaction.atomic
def ticks_set(*, session: Session, people: list[Ticked], tick: Tick) -> None:
    """Tick people.

    Of one person, AlreadyTicked, BackBeforeOut and NotOut are raised; of several, those it does not go for are left
    as they are.
    """
    set_one = {"out": out_tick, "back": back_tick, "undo": tick_undo}[tick.what]
    for who in people:
        try:
            set_one(session=session, who=who, tick=tick)
        except (AlreadyTicked, BackBeforeOut, NotOut):
            if len(people) == 1:
                raise


@transaction.atomic
def out_tick(*, session: Session, who: Ticked, tick: Tick) -> OutBack:
    """The person went out. Raises AlreadyTicked where that is noted already; the earlier moment stays."""
    row = _tick_row(session, who, tick.by)
    noted = row.out_at or row.back_at
    if noted is not None and tick.at >= noted:
        raise AlreadyTicked(name=who.name, at=noted, by=row.ticked_by)
    row.out_at, row.ticked_by, row.hide = tick.at, tick.by, who.hide
    return row_save(row=row)


@transaction.atomic
def back_tick(*, session: Session, who: Ticked, tick: Tick) -> OutBack:
    """The person is back, also where nobody ticked them out.

    Raises AlreadyTicked where that is noted already (the earlier moment stays), BackBeforeOut.
    """
    row = _tick_row(session, who, tick.by)
    if row.back_at is not None and tick.at >= row.back_at:
        raise AlreadyTicked(name=who.name, at=row.back_at, by=row.ticked_by)
    if row.out_at is not None and tick.at < row.out_at:
        raise BackBeforeOut(name=who.name, out_at=row.out_at)
    row.back_at, row.ticked_by = tick.at, tick.by
    return row_save(row=row)


@transaction.atomic
def tick_undo(*, session: Session, who: Ticked, tick: Tick) -> OutBack | None:
    """Take back the last tick of a person: first that they are back, then that they are out."""
    row = _tick_row(session, who, tick.by)
    if row.back_at is not None:
        row.back_at, row.ticked_by = None, tick.by
        if row.out_at is not None:
            return row_save(row=row)
    elif row.out_at is None:
        row.delete()
        raise NotOut(name=who.name)
    row.delete()
    return None


def _tick_row(session: Session, who: Ticked, by: Any) -> OutBack:
    """The person's line of the session, made where there is none; two at once get the same one."""
    person = {"place": who.place, "leader": None if who.place else who.leader}
    row, _ = OutBack.objects.select_for_update().get_or_create(
        session=session, **person, defaults={"hide": who.hide, "ticked_by": by}
    )
    return row
