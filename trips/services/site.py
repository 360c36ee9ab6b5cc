"""What writes sites and hides, also what was measured on the spot."""

from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import F, ProtectedError

from participants.core.errors import CoreError
from participants.versions import Stale, row_save
from trips.models import Hide, Seat, Site, SitePlanner, Trip, View
from trips.services.names import names_free
from trips.services.staleness import inputs_changed


class HideInUse(CoreError):
    """A hide or seat that turns of a rota are in cannot go: `name`, `hide`."""


@dataclass(frozen=True)
class HideParts:
    """Views and seats that changed, and those that go."""

    saved: list[View | Seat] = field(default_factory=list)
    gone: list[View | Seat] = field(default_factory=list)


@transaction.atomic
def site_create(*, leader: Any, site: Site, trip: Trip | None = None) -> Site:
    """A new site of a leader; made from a trip's page it is the trip's as well, with the yes that this needs."""
    site.leader = leader
    site.save()
    if trip is not None:
        trip.sites.add(site)
        planner_note(site=site, trip=trip, by=leader)
    return site


def planner_note(*, site: Site, trip: Trip, by: Any) -> None:
    """A leader who puts their own site into another leader's trip says yes to that leader."""
    if by is not None and site.leader_id == by.pk and trip.leader_id != by.pk:
        planner_give(site=site, leader=trip.leader)


@transaction.atomic
def planner_give(*, site: Site, leader: Any) -> None:
    """The yes of a site's leader to another leader; said twice it is one."""
    SitePlanner.objects.get_or_create(site=site, leader=leader)


@transaction.atomic
def planner_withdraw(*, site: Site, leader: Any) -> None:
    """Take a yes back. Trips that have the site keep it with its sessions and rotas."""
    SitePlanner.objects.filter(site=site, leader=leader).delete()


@transaction.atomic
def hide_save(*, hide: Hide, parts: HideParts, seen_version: int | None = None) -> Hide:
    """Save a hide with its views and seats, all or nothing.

    `Stale` where somebody else changed the hide since; HideInUse where a seat that goes has turns.
    """
    if hide.pk:
        row_save(row=hide, seen_version=seen_version)
    else:
        hide.save()
    for part in parts.gone:
        try:
            part.delete()
        except ProtectedError as used:
            raise HideInUse(name=part.name, hide=hide) from used
    names_free(part for part in parts.saved if part.pk)
    for part in parts.saved:
        part.hide = hide
        if part.pk:
            row_save(row=part)
        else:
            part.save()
    return hide


@transaction.atomic
def hides_save(*, hides: list[tuple[Hide, HideParts, int]]) -> None:
    """Save several hides, each with its parts and the version it was opened on, all or none."""
    for hide, parts, seen_version in hides:
        hide_save(hide=hide, parts=parts, seen_version=seen_version)


@transaction.atomic
def hide_delete(*, hide: Hide) -> None:
    """Delete a hide that no rota uses."""
    trips = list(hide.site.trips.all())
    try:
        hide.delete()
    except ProtectedError as used:
        raise HideInUse(name=hide.name, hide=hide) from used
    inputs_changed(trips)


@transaction.atomic
def position_take(*, hide: Hide, was: tuple[float, float] | None) -> None:
    """Save where a hide stands; `Stale` where it is neither where the page showed it nor where it now is said to be.

    `was`: the position that the page showed, None for the site's.
    """
    stored = Hide.objects.select_for_update().get(pk=hide.pk)
    if not _same(_position(stored), was) and not _same(_position(stored), _position(hide)):
        raise Stale(row=stored, seen_version=0)
    row_save(row=hide)


@transaction.atomic
def view_take(*, view: View, seen_version: int) -> None:
    """Save where a view looks; `Stale` where somebody else changed it since. The hide counts as changed too."""
    if view.pk:
        row_save(row=view, seen_version=seen_version)
    else:
        view.save()
    Hide.objects.filter(pk=view.hide_id).update(version=F("version") + 1)


def _position(hide: Hide) -> tuple[float, float] | None:
    if hide.latitude_deg is None or hide.longitude_deg is None:
        return None
    return hide.latitude_deg, hide.longitude_deg


def _same(one: tuple[float, float] | None, other: tuple[float, float] | None) -> bool:
    """Whether two positions are the same to a hundredth of a metre."""
    if one is None or other is None:
        return one is other
    return abs(one[0] - other[0]) < 1e-7 and abs(one[1] - other[1]) < 1e-7
