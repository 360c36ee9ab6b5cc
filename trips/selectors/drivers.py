"""What each driver drives on a day: by car, whom, where and when, as the day stands. Of the issued rota alone."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.models import AccessLink
from participants.selectors import link_is_live
from participants.speaking import ENGLISH, language_of
from participants.tokens import address_token
from trips.assemble.drives import TripDrives
from trips.core.day import PersonNow
from trips.core.drives import Drive, Visit
from trips.models import DriverList, Hide, RotaState, Session, Site, Trip
from trips.selectors.day import local_day, rota_in_force
from trips.selectors.day_state import TripDay, trip_day

KIND = "driver"
AFTER_THE_DAY = timedelta(hours=2)  # a car that is late is still driven by its list


@dataclass(frozen=True)
class Rider:
    """Somebody in the car; `note`: what has changed since the rota was issued."""

    name: str
    phone: str
    note: str = ""


@dataclass(frozen=True)
class DriverStop:
    """The car at a hide. `until`: when the pick-up window closes, None on the way out."""

    at: datetime
    until: datetime | None
    hide: Hide
    people: tuple[Rider, ...]


@dataclass(frozen=True)
class DriverDrive:
    """One way of a car: out with people, or to fetch them."""

    kind: str
    session: Session
    car: str
    plate: str
    leaves_at: datetime
    back_at: datetime
    stops: tuple[DriverStop, ...]


@dataclass(frozen=True)
class DriverDay:
    """All drives of one driver on one day, by moment. `site`: of the first drive. `ends_at`: when a link ends."""

    day: date
    driver: str
    name: str
    site: Site
    drives: tuple[DriverDrive, ...]
    ends_at: datetime


def driver_days(trip: Trip, *, now: datetime, only: date | None = None) -> dict[tuple[date, str], DriverDay]:
    """The lists of all drivers, or those of one day, by day and driver's key."""
    rota = rota_in_force(trip)
    if rota is None or rota.state != RotaState.ISSUED:
        return {}
    day = trip_day(trip, now=now)
    drives = day.drives
    assert drives is not None
    found: dict[tuple[date, str], list[DriverDrive]] = defaultdict(list)
    for drive in drives.drives:
        row = drives.sessions[drive.run.session]
        if only is None or local_day(row) == only:
            found[local_day(row), drive.run.driver].append(_drive(drives, day, drive))
    names = drives.names.people
    return {(at, key): _day(at, key, names.get(key, ""), own) for (at, key), own in sorted(found.items())}


def _day(day: date, key: str, name: str, own: Iterable[DriverDrive]) -> DriverDay:
    drives = tuple(sorted(own, key=lambda one: (one.leaves_at, one.car)))
    site = drives[0].session.site
    midnight = datetime.combine(day + timedelta(days=1), time(), ZoneInfo(site.time_zone))
    ends_at = max(midnight, *(one.back_at + AFTER_THE_DAY for one in drives))
    return DriverDay(day, key, name, site, drives, ends_at)


def _drive(drives: TripDrives, day: TripDay, drive: Drive) -> DriverDrive:
    row = drives.sessions[drive.run.session]
    car = next((car for car in drives.cars if str(car.uuid) == drive.run.car), None)
    people = {one.person: one for one in day.state.session(str(row.uuid)).people}
    zone = ZoneInfo(row.site.time_zone)
    stops = []
    for visit in drive.visits:
        ride = drives.rides.get((row.pk, visit.hide))
        window = ride.pick_up if ride is not None and drive.kind == "fetch" else None
        riders = _riders(day, people, visit, fetched=drive.kind == "fetch")
        until = window.closes_at.astimezone(zone) if window else None
        stops.append(DriverStop(visit.at.astimezone(zone), until, day.hides[visit.hide], riders))
    name, plate = (car.name, car.plate) if car else ("", "")
    leaves_at, back_at = drive.leaves_at.astimezone(zone), drive.back_at.astimezone(zone)
    return DriverDrive(drive.kind, row, name, plate, leaves_at, back_at, tuple(stops))


def _riders(day: TripDay, people: Mapping[str, PersonNow], visit: Visit, *, fetched: bool) -> tuple[Rider, ...]:
    """Those of the rota with what has changed, and to be fetched also whoever was moved there."""
    moved = [key for key, one in people.items() if one.hide == visit.hide and key not in visit.people]
    found = []
    for key in (*visit.people, *(moved if fetched else ())):
        known, now = day.people.get(key), people.get(key)
        if known is not None:
            found.append(Rider(known.name, known.phone, _note(day, now, visit.hide, is_new=key in moved)))
    return tuple(found)


def _note(day: TripDay, now: PersonNow | None, hide: str, *, is_new: bool) -> str:
    if now is None:
        return ""
    if now.standing == "not_coming":
        return _("not coming")
    if now.standing == "back":
        return _("back already")
    if now.hide != hide and now.hide in day.hides:
        return _("now in {hide}", hide=isolated(day.hides[now.hide].name))
    return _("moved here") if is_new else ""


def driver_list_of(uuid: UUID) -> DriverList:
    """The list behind an address; 404 where its trip is gone."""
    return get_object_or_404(DriverList.objects.select_related("trip__rules", "trip__leader"), uuid=uuid)


def driver_language(row: DriverList) -> str:
    """What the driver reads: a person's own language, a leader English, anybody else what the owner reads."""
    if row.driver.startswith("leader-"):
        return ENGLISH
    if row.driver.startswith("place-"):
        place = row.trip.places.filter(uuid=row.driver.removeprefix("place-")).select_related("participant").first()
        return language_of(place.participant) if place is not None else ENGLISH
    site = row.trip.sites.first()
    return site.owner_language if site is not None else ENGLISH


def driver_addresses(trip: Trip) -> dict[tuple[date, str], str]:
    """The paths that open now, by day and driver's key; two queries."""
    lists = {row.uuid: row for row in trip.driver_lists.all()}
    links = AccessLink.objects.filter(kind=KIND, owner_uuid__in=list(lists))
    return {
        (lists[link.owner_uuid].day, lists[link.owner_uuid].driver): address_token(
            kind=KIND, owner_uuid=link.owner_uuid, counter=link.counter
        )
        for link in links
        if link_is_live(link)
    }
