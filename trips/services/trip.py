"""What writes a trip and its rules."""

from typing import Any

from django.db import transaction

from participants.versions import row_save
from trips.documents.wording.marks import mark_fields
from trips.models import Trip, TripRules


@transaction.atomic
def trip_create(*, leader: Any, trip: Trip, sites: list[Any]) -> Trip:
    """A new trip of `leader` with its rules at their defaults."""
    trip.leader = leader
    trip.save()
    trip.sites.set(sites)
    TripRules.objects.create(trip=trip)
    return trip


@transaction.atomic
def trip_update(*, trip: Trip, sites: list[Any], seen_version: int) -> Trip:
    """Save a changed trip; `Stale` where somebody else changed it since."""
    row_save(row=trip, seen_version=seen_version)
    trip.sites.set(sites)
    return trip


@transaction.atomic
def rules_update(*, rules: TripRules, seen_version: int) -> TripRules:
    """Save changed rules; `Stale` where somebody else changed them since."""
    return row_save(row=rules, seen_version=seen_version)


@transaction.atomic
def rules_reset(*, rules: TripRules) -> TripRules:
    """Back to the documented defaults."""
    fresh = TripRules(trip=rules.trip)
    fresh.pk, fresh.uuid, fresh.version = rules.pk, rules.uuid, rules.version
    return row_save(row=fresh)


@transaction.atomic
def marks_reset(*, rules: TripRules) -> TripRules:
    """The marks back to the documented defaults; the other rules stay."""
    fresh = TripRules()
    for name in mark_fields():
        setattr(rules, name, getattr(fresh, name))
    return row_save(row=rules)
