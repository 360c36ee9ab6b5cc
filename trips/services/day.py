"""What leaders write on the day: cars, their runs and the availability."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.models import Car, Hide, Rota, Run, RunStop, Session, SessionHide, Trip
from trips.services.names import names_free
from trips.services.staleness import drives_changed

DRIVER_COLUMNS = ("driver", "driver_place_id", "driver_leader_id")


class CarNameTaken(CoreError):
    """Another car of the trip got that name meanwhile: `name`."""


class RunsChanged(CoreError):
    """The session's runs are no longer those the form was filled from."""


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


@transaction.atomic
def drops_hand_over(*, session: Session, car: Car, other: Car, issued: Rota | None) -> bool:
    """Let another car take a car's drops in a session, if it has any: in its own run where all fit in, else a further.

    `issued`: the rota whose people ride.
    """
    runs = list(session.runs.select_related("car").prefetch_related("stops__hide"))
    if not any(run.car_id == car.pk for run in runs):
        return False
    both = [stop.hide_id for run in runs for stop in run.stops.all() if run.car_id in (car.pk, other.pk)]
    people = issued.turns.filter(session=session, hide__in=both).count() if issued else 0
    own = [run for run in runs if run.car_id == other.pk]
    last = max((run.number for run in own), default=0)
    fits = len(own) == 1 and len([run for run in runs if run.car_id == car.pk]) == 1 and people <= other.seats
    stops, drivers = [], {}
    for run in runs:
        to, number, after = run.car, run.number, 0
        if run.car_id == car.pk:
            to, number = other, last if fits else last + run.number
            after = len(own[0].stops.all()) if fits else 0
        else:
            drivers[to.pk, number] = {name: getattr(run, name) for name in DRIVER_COLUMNS}
        stops += [PlannedStop(stop.hide, to, after + stop.position, stop.leg_min, number) for stop in run.stops.all()]
    runs_save(session=session, stops=stops, seen=runs_seen(session), drivers=drivers)
    return True


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
