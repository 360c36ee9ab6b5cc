"""Sites and hides of the person who asks. A stranger's id is a 404."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib.resources import files
from typing import Any
from uuid import UUID

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404

from participants.core.errors import CoreError
from trips.assemble import hide_value, point_value, view_value
from trips.assemble.places import ASSUMED_WIDTH_M
from trips.core.magnetism import Declination, declination
from trips.core.positions import places_of_zones
from trips.core.values import Hide as HideValue
from trips.documents.wording.places import NO_DRIVE, NO_SEATS, NO_SUBJECTS, NO_VIEW, OWN_POSITION, assumed_words
from trips.models import Hide, HideSubject, Site, SitePlanner, Trip, View
from trips.selectors.trip import sites_of, trips_of


def site_for(asker: Any, uuid: UUID | str) -> Site:
    """The site of that uuid, if it opens to the asker."""
    return get_object_or_404(sites_of(asker).select_related("leader"), uuid=uuid)


def own_site_for(asker: Any, uuid: UUID | str) -> Site:
    """The site of that uuid, if it is the asker's own."""
    return get_object_or_404(Site.objects, leader=asker, uuid=uuid)


def hide_for(asker: Any, uuid: UUID | str) -> Hide:
    """The hide of that uuid with all that is in it, if the asker may see its site."""
    chances = Prefetch("hide_subjects", HideSubject.objects.select_related("subject"))
    rows = Hide.objects.filter(site__in=sites_of(asker)).select_related("site")
    return get_object_or_404(rows.prefetch_related("views", "seats", chances), uuid=uuid)


@dataclass(frozen=True)
class HideLine:
    """A hide in the list: what stops it from being planned, and what is assumed or missing."""

    hide: Hide
    needed: tuple[str, ...]
    lacking: tuple[str, ...]

    @property
    def order(self) -> tuple[int, int]:
        """What lacks most comes first."""
        return -len(self.needed), -len(self.lacking)


HIDE_ORDERS: dict[str, Callable[[HideLine], Any]] = {
    "name": lambda line: line.hide.name.casefold(),
    "drive": lambda line: (line.hide.drive_min, line.hide.walk_m, line.hide.name.casefold()),
    "lacking": lambda line: (*line.order, line.hide.name.casefold()),
}


def own_hide_for(asker: Any, uuid: UUID | str) -> Hide:
    """The hide of that uuid on a site of the asker's own."""
    return get_object_or_404(Hide.objects.select_related("site"), site__leader=asker, uuid=uuid)


def hides_of(asker: Any, trip: Trip, order: str = "name") -> list[tuple[Site, list[HideLine]]]:
    """The trip's sites that open to the asker, with their hides and what those lack.

    `order`: by name, by the drive, or by what lacks most.
    """
    key = HIDE_ORDERS.get(order, HIDE_ORDERS["name"])
    sites = trip.sites.filter(pk__in=sites_of(asker).values("pk"))
    rows = sites.prefetch_related("hides__views", "hides__seats", "hides__site", "hides__hide_subjects__subject")
    return [(site, sorted((_line(hide) for hide in site.hides.all()), key=key)) for site in rows]


def sites_closed(asker: Any, trip: Trip) -> list[Site]:
    """Sites of the trip that do not open to the asker, as their leader has not said yes or took it back."""
    return list(trip.sites.exclude(pk__in=sites_of(asker).values("pk")).select_related("leader"))


def _line(hide: Hide) -> HideLine:
    value = hide_value(hide)
    needed = [NO_SEATS] if not value.seats else []
    needed += [NO_VIEW] if not value.views else []
    lacking = [OWN_POSITION] if hide.latitude_deg is None else []
    lacking += assumed_words([*value.assumed, *(name for view in value.views for name in view.assumed)])
    lacking += [NO_SUBJECTS] if not value.chances else []
    lacking += [NO_DRIVE] if not hide.drive_min else []
    return HideLine(hide, tuple(needed), tuple(lacking))


def seats_of(asker: Any, trip: Trip) -> list[Hide]:
    """The trip's hides that open to the asker with their sites and seats, by site and name."""
    hides = Hide.objects.filter(site__trips=trip, site__in=sites_of(asker))
    hides = hides.select_related("site").prefetch_related("seats")
    return list(hides.order_by("site__name", "name", "uuid"))


def trip_of_page(asker: Any, uuid: str | None, site: Site) -> Trip | None:
    """The trip a page of a hide was opened from; without one the next trip (else the latest) there, or none."""
    trips = trips_of(asker).filter(sites=site).select_related("rules").order_by("-starts_on")
    try:
        chosen = trips.filter(uuid=UUID(uuid)).first() if uuid else None
    except ValueError:
        chosen = None
    return chosen or trips.first()


def trip_asked(asker: Any, uuid: str | None) -> Trip | None:
    """The asker's trip of that uuid, which a page was opened from; None where none is named or it is not theirs."""
    try:
        return trips_of(asker).select_related("rules").filter(uuid=UUID(uuid)).first() if uuid else None
    except ValueError:
        return None


def units_at(trip: Trip | None) -> str:
    """The units of the trip, metres without one."""
    return trip.units if trip else "metric"


def sketch(hide: Hide, views: list[View]) -> HideValue:
    """A hide as typed, saved or not, for drawing only."""
    return HideValue(
        key=str(hide.uuid),
        name=hide.name or "new hide",
        point=point_value(hide.site, hide),
        views=tuple(view_value(view) for view in views),
        seats=(),
        roof_height_m=hide.roof_height_m,
        width_m=hide.width_m or ASSUMED_WIDTH_M,
        scent_matters=hide.scent_matters,
        lamp_lit=hide.lamp_lit,
        assumed=() if hide.roof_height_m is not None else ("roof_height_m",),
    )


def day_of_page(text: str | None, trip: Trip | None, today: date) -> date:
    """The day a page shows: the one asked for, else the trip's first, else today."""
    try:
        return date.fromisoformat(text) if text else (trip.starts_on if trip else today)
    except ValueError:
        return trip.starts_on if trip else today


def planners_of(site: Site) -> list[SitePlanner]:
    """The leaders who may plan there, by the name they sign in with."""
    return list(site.planners.select_related("leader"))


def planner_of(site: Site, leader: str) -> SitePlanner | None:
    """The yes to the leader of that number; None where there is none (any more)."""
    return next((planner for planner in planners_of(site) if str(planner.leader_id) == leader), None)


def trips_without_yes(site: Site) -> list[Trip]:
    """Trips of other leaders that have the site, while its own leader has not said yes to them."""
    others = site.trips.exclude(leader=site.leader_id).exclude(leader__in=site.planners.values("leader"))
    return list(others.select_related("leader"))


@dataclass(frozen=True)
class SurveyedHide:
    """A hide of the site with the declination there; None outside the model's years."""

    hide: Hide
    declination: Declination | None


def hides_to_survey(hide: Hide, day: date) -> list[SurveyedHide]:
    """All hides of the same site, the asked-for one first, the others by name."""
    rows = Hide.objects.filter(site=hide.site).select_related("site").prefetch_related("views")
    ordered = sorted(rows.order_by("name", "uuid"), key=lambda row: row.pk != hide.pk)
    return [SurveyedHide(row, _declination(row, day)) for row in ordered]


def _declination(hide: Hide, day: date) -> Declination | None:
    place = point_value(hide.site, hide)
    try:
        return declination(place.latitude_deg, place.longitude_deg, place.elevation_m, day)
    except CoreError:
        return None


ZONE_TABLES = ("zone.tab", "zone1970.tab")


@lru_cache(maxsize=1)
def zone_places() -> dict[str, tuple[float, float]]:
    """The reference point (latitude, longitude) of each zone; read once a process."""
    folder = files("tzdata") / "zoneinfo"
    return places_of_zones((folder / table).read_text(encoding="utf-8") for table in ZONE_TABLES)
