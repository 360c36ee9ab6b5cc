"""Handing a driver the list of a day: an address that opens without a sign-in, for that day alone."""

from datetime import datetime

from django.db import transaction
from django.db.models import F

from participants.models import AccessLink
from trips.models import DriverList, Trip
from trips.selectors.drivers import KIND, DriverDay


@transaction.atomic
def driver_link_make(*, trip: Trip, wanted: DriverDay, now: datetime) -> DriverList:
    """A fresh address for the list of a driver's day; the one before is gone at once. `wanted` ends after `now`."""
    row, _ = DriverList.objects.get_or_create(trip=trip, day=wanted.day, driver=wanted.driver)
    ends = {"made_at": now, "expires_at": wanted.ends_at, "revoked_at": None}
    link, is_new = AccessLink.objects.get_or_create(kind=KIND, owner_uuid=row.uuid, defaults=ends)
    if not is_new:
        renewed = AccessLink.objects.filter(pk=link.pk)
        renewed.update(counter=F("counter") + 1, version=F("version") + 1, **ends)
    return row
