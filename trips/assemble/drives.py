"""Rows of cars, runs and turns into the drives of a trip: who rides when, and what cannot be driven."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from trips.assemble.drive_rows import DriveRows, person_key, person_name, sits_by_turn
from trips.assemble.places import point_value
from trips.assemble.presence_and_states import is_present
from trips.assemble.sessions import rules_value, session_label
from trips.core import drives as core
from trips.core.drives import Drive, DriveFault, Driving, PickUp, Run, Sit, Stop
from trips.core.light import SessionLight
from trips.core.sun import SUNRISE_DEG, day_events
from trips.core.values import Point
from trips.documents.meals import AwayLine
from trips.documents.quantities import clock_text
from trips.documents.wording.drives import DriveNames
from trips.models import ON_TRIP, Car, Hide, Rota, Session, Turn
from trips.models import Run as RunRow
from trips.models.site import Doors

ANY_CAR = ""  # where no car is named, one car does all


@dataclass(frozen=True, slots=True)
class HideRide:
    """When one hide's people leave, sit and are fetched, and by whom.

    None where nobody rides out (they are there already) or home (they stay). `car` is "" where none is named.
    """

    hide: str
    in_place_at: datetime
    leaves_at: datetime | None = None
    arrives_at: datetime | None = None
    pick_up: PickUp | None = None
    fetch_leaves_at: datetime | None = None
    back_at: datetime | None = None
    car: str = ""
    plate: str = ""
    driver: str = ""
    driver_key: str = ""
    run: int = 1
    out_ends: str = ""
    too_many: int = 0


class TripDrives:
    """The drives of one rota (None: nobody sits). Five queries beyond the rows given.

    `turns`: those of the rota with hide, place, person and leader, where they are read already: one query less.
    """

    def __init__(self, rows: DriveRows, rota: Rota | None, turns: Iterable[Turn] | None = None) -> None:
        self.sessions = rows.sessions
        self._rows, self._rules = rows, rules_value(getattr(rows.trip, "rules", None))
        self._hides = {hide.pk: hide for hide in rows.hides}
        self._numbers = {row.pk: number for number, row in enumerate(rows.sessions)}
        drivers = ("driver_place__participant", "driver_leader")
        cars = rows.trip.cars.select_related(*drivers).prefetch_related("driver_place__absences")
        self.cars: tuple[Car, ...] = tuple(cars)
        runs = RunRow.objects.filter(session__trip=rows.trip).select_related("car", *drivers)
        self._runs: dict[int, list[RunRow]] = defaultdict(list)
        for run in runs.prefetch_related("stops", "driver_place__absences").order_by("car__name", "number", "pk"):
            self._runs[run.session_id].append(run)
        if turns is None:
            turns = rota.turns.select_related("place__participant", "leader") if rota else ()
        self._turns: tuple[Turn, ...] = tuple(turns)
        self._sunrises: dict[tuple[object, ...], datetime | None] = {}

    @cached_property
    def driving(self) -> Driving:
        """The runs and people as the core plans them."""
        runs = tuple(run for row in self.sessions for run in self.session_runs(row, self._stops(row)))
        fleet = tuple(core.Car(str(car.uuid), car.seats, car.driver_key) for car in self.cars)
        return Driving(runs, self._sits, self.rules, self._absent, fleet)

    @property
    def rules(self) -> core.DriveRules:
        """The minutes that every drive takes."""
        return core.DriveRules(self._rules.set_up_min, self._rules.stop_min)

    @cached_property
    def drives(self) -> tuple[Drive, ...]:
        """All drives of the trip."""
        return core.plan_drives(self.driving)

    @cached_property
    def faults(self) -> dict[int, list[DriveFault]]:
        """What cannot be driven, by session row id."""
        found: dict[int, list[DriveFault]] = defaultdict(list)
        for fault in core.drive_faults(self.driving, self.drives):
            found[self.sessions[fault.drive.run.session].pk].append(fault)
        return found

    @cached_property
    def rides(self) -> dict[tuple[int, str], HideRide]:
        """The rides of the hides in use, by session row id and hide key."""
        planned = {(drive.run.key, drive.kind, visit.hide): drive for drive in self.drives for visit in drive.visits}
        return {
            (self.sessions[run.session].pk, stop.hide): self._ride(run, stop, planned)
            for run in self.driving.runs
            for stop in run.stops
        }

    def window(self, row: Session, hide: Hide) -> PickUp:
        """When people of a hide would be fetched by the rules alone, whoever sits there."""
        return self.stop(row, hide).pick_up

    def of(self, row: Session, kind: str) -> list[Drive]:
        """The drives of a session, out or to fetch."""
        return [one for one in self.drives if one.kind == kind and self.sessions[one.run.session].pk == row.pk]

    @cached_property
    def away(self) -> tuple[AwayLine, ...]:
        """How many people are away from when to when, over all runs of the trip."""
        counted = Counter((one.leaves_at, one.back_at) for one in core.aways(self.driving, self.drives))
        return tuple(AwayLine(leaves_at, back_at, people) for (leaves_at, back_at), people in sorted(counted.items()))

    def rides_out(self, turn: Turn) -> bool:
        """Whether the person comes for this turn; else they are in the hide already."""
        return self._sit_of[turn.pk].first == self._numbers[turn.session_id]

    def rides_home(self, turn: Turn) -> bool:
        """Whether the person is fetched after this turn; else they stay for the next."""
        return self._sit_of[turn.pk].last == self._numbers[turn.session_id]

    @cached_property
    def names(self) -> DriveNames:
        """The names that sentences about the drives use."""
        people = {person_key(turn): person_name(turn) for turn in self._turns}
        driven = [*self.cars, *(run for runs in self._runs.values() for run in runs)]
        people |= {one.driver_key: one.driver_name for one in driven if one.driver_key}
        leaders = self.leaders
        return DriveNames(
            people=people | {key: name for key, name in leaders.items() if key not in people},
            cars={str(car.uuid): car.name for car in self.cars},
            hides={str(hide.uuid): hide.name for hide in self._rows.hides},
            sessions=tuple(session_label(row) for row in self.sessions),
        )

    @cached_property
    def leaders(self) -> dict[str, str]:
        """The leaders of the trip by key; they can drive where nobody else does."""
        trip = self._rows.trip
        users = [trip.leader, *trip.co_leaders.order_by("username")]
        return {f"leader-{user.pk}": user.get_full_name() or user.get_username() for user in users}

    @property
    def driver_keys(self) -> frozenset[str]:
        """Who drives a car of the trip, as usual or in one of its runs."""
        driven = [*self.cars, *(run for runs in self._runs.values() for run in runs)]
        return frozenset(one.driver_key for one in driven if one.driver_key)

    @cached_property
    def spare_drivers(self) -> tuple[str, ...]:
        """Who could drive instead: whoever drives a car of the trip, and its leaders."""
        return tuple(dict.fromkeys([*(car.driver_key for car in self.cars if car.driver_key), *self.leaders]))

    @cached_property
    def _sit_of(self) -> dict[int, Sit]:
        return sits_by_turn(self._rows, self._turns)

    @property
    def _sits(self) -> tuple[Sit, ...]:
        return tuple(dict.fromkeys(self._sit_of.values()))

    @property
    def _absent(self) -> frozenset[tuple[str, int]]:
        """(driver, session) of people of the trip who are to drive while they are not there."""
        own = {run.driver_key: run.driver_place for runs in self._runs.values() for run in runs if run.driver_place}
        own |= {car.driver_key: car.driver_place for car in self.cars if car.driver_place}
        return frozenset(
            (key, number)
            for key, place in own.items()
            for number, row in enumerate(self.sessions)
            if place.state not in ON_TRIP or not is_present(place, row)
        )

    def session_runs(self, row: Session, stops: Iterable[Stop]) -> list[Run]:
        """Each run of a session with its stops in the order they are driven; one car does all unless runs are named.

        A hide that no run stops at rides with the first run.
        """
        left = {stop.hide: stop for stop in stops}
        number = self._numbers[row.pk]
        rows = self._runs.get(row.pk, [])
        if not rows:
            car = self.cars[0] if len(self.cars) == 1 else None
            driver = car.driver_key if car else ""
            in_order = core.in_driving_order(tuple(left.values()), core.driver_hide(driver, left.values()))
            key, seats = (str(car.uuid), car.seats) if car else (ANY_CAR, None)
            return [Run(number, key, in_order, driver, 1, seats)] if in_order else []
        found = []
        for run in rows:
            named = [stop for stop in run.stops.all() if stop.hide_id in self._hides]
            typed = {str(self._hides[stop.hide_id].uuid): stop.leg_min for stop in named}
            in_order = tuple(replace(left.pop(key), drop_min=leg) for key, leg in typed.items() if key in left)
            driver = run.driver_key or run.car.driver_key
            found.append(Run(number, str(run.car.uuid), in_order, driver, run.number, run.car.seats))
        found[0] = core.with_untyped(found[0], tuple(left.values()))
        return [run for run in found if run.stops]

    def _stops(self, row: Session) -> list[Stop]:
        """The hides in use in a session, with who rides there and who is fetched."""
        people: dict[int, list[Turn]] = defaultdict(list)
        for turn in self._turns:
            if turn.session_id == row.pk and turn.hide_id in self._hides:
                people[turn.hide_id].append(turn)
        return [
            replace(
                self.stop(row, self._hides[hide]),
                out=tuple(sorted({person_key(turn) for turn in turns if self.rides_out(turn)})),
                home=tuple(sorted({person_key(turn) for turn in turns if self.rides_home(turn)})),
            )
            for hide, turns in sorted(people.items(), key=lambda item: str(self._hides[item[0]].uuid))
        ]

    def stop(self, row: Session, hide: Hide) -> Stop:
        """A hide on a car's round in a session, nobody in it."""
        zone = ZoneInfo(row.site.time_zone)
        starts_at, ends_at = self._rows.hours.get((row.pk, hide.pk), (None, None))
        starts_at, ends_at = (starts_at or row.starts_at).astimezone(zone), (ends_at or row.ends_at).astimezone(zone)
        closed = hide.doors != Doors.FREE
        rule = core.InPlaceRule(hide.in_place_min_before_sunrise, self._rules.settle_min)
        return Stop(
            hide=str(hide.uuid),
            in_place_at=core.in_place_time(starts_at, rule, kind=row.kind, sunrise=self._sunrise(row, hide, starts_at)),
            pick_up=core.pick_up_window(
                ends_at, (), window_min=self._rules.pick_up_window_min, closed_until_end=closed
            ),
            due_at=ends_at,
            drive_min=hide.drive_min,
            walk_min=hide.walk_min,
        )

    def _sunrise(self, row: Session, hide: Hide, starts_at: datetime) -> datetime | None:
        """Sunrise at a hide on the local day, where its rule counts back from it."""
        if row.kind != "early" or hide.in_place_min_before_sunrise is None:
            return None
        point = point_value(row.site, hide)
        key = (point, starts_at.date())
        if key not in self._sunrises:
            self._sunrises[key] = sunrise_of(point, starts_at)
        return self._sunrises[key]

    def _ride(self, run: Run, stop: Stop, planned: Mapping[tuple[tuple[int, str, int], str, str], Drive]) -> HideRide:
        out, home = planned.get((run.key, "out", stop.hide)), planned.get((run.key, "fetch", stop.hide))
        there, fetched = out and out.visit(stop.hide), home and home.visit(stop.hide)
        car = next((car for car in self.cars if str(car.uuid) == run.car), None)
        return HideRide(
            hide=stop.hide,
            in_place_at=stop.in_place_at,
            leaves_at=out.leaves_at if out else None,
            arrives_at=there.at if there else None,
            pick_up=_moved(stop.pick_up, fetched.at) if fetched else None,
            fetch_leaves_at=home.leaves_at if home else None,
            back_at=home.back_at if home else None,
            car=car.name if car else "",
            plate=car.plate if car else "",
            driver=self.names.people.get(run.driver, ""),
            driver_key=run.driver,
            run=run.number,
            out_ends=_out_ends(out, self.names) if out else "",
            too_many=max((drive.too_many for drive in (out, home) if drive), default=0),
        )


def ask_first(light: SessionLight | None, window: PickUp | None) -> bool:
    """Whether a hide's light is still front while its people would be fetched, so that the leader is asked."""
    return window is not None and any(
        part.name == "front" and part.starts_at < window.closes_at and part.ends_at > window.opens_at
        for view in (light.views if light else ())
        for part in view.on_perch
    )


def sunrise_of(point: Point, moment: datetime) -> datetime | None:
    """Sunrise at a place on the local day of a moment; None where the sun does not rise."""
    events = day_events(point.latitude_deg, point.longitude_deg, moment.date(), point.time_zone)
    return next((event.moment for event in events if event.limit_deg == SUNRISE_DEG and event.rising), None)


def _moved(window: PickUp, at: datetime) -> PickUp:
    """The window as it is told: of the same length, so late that the car is there before it closes."""
    late = max(timedelta(0), at - window.closes_at)
    return PickUp(window.opens_at + late, window.closes_at + late)


def _out_ends(drive: Drive, names: DriveNames) -> str:
    """When the car is back from its drops, or where it waits for its driver."""
    return f"waits at {names.where((drive.ends_in,))}" if drive.ends_in else f"back {clock_text(drive.back_at)}"
