"""What writes sites and hides."""

from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.models import Hide, Seat, Site, Trip, View
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
    """A new site of a leader; made from a trip's page it is the trip's as well."""
    site.leader = leader
    site.save()
    if trip is not None:
        trip.sites.add(site)
    return site


@transaction.atomic
def site_update(*, site: Site, seen_version: int) -> Site:
    """Save a changed site; `Stale` where somebody else changed it since."""
    return row_save(row=site, seen_version=seen_version)


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
