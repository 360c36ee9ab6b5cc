"""What writes a trip and its rules."""

from collections.abc import Iterable
from typing import Any

from django.db import transaction

from participants.models import LeaderDetails, Row
from participants.versions import row_save
from trips.documents.wording.scoring import scoring_fields
from trips.models import Trip, TripRules
from trips.services.calendars import feed_address_replace
from trips.services.site import planner_note
from trips.services.staleness import inputs_changed


@transaction.atomic
def trip_create(*, leader: Any, trip: Trip, sites: list[Any], co_leaders: Iterable[Any] = ()) -> Trip:
    """A new trip of `leader` with its rules at their defaults."""
    trip.leader = leader
    trip.save()
    trip.sites.set(sites)
    trip.co_leaders.set(co_leaders)
    TripRules.objects.create(trip=trip)
    return trip


@transaction.atomic
def trip_update(
    *, trip: Trip, sites: list[Any], seen_version: int, by: Any = None, co_leaders: Iterable[Any] | None = None
) -> Trip:
    """Save a changed trip, its co-leaders where they are given; `Stale` where somebody else changed it since.

    `by`: who saves it; a site of theirs that they add is their yes to the trip's leader.
    """
    row_save(row=trip, seen_version=seen_version)
    if co_leaders is not None:
        _co_leaders_set(trip, set(co_leaders))
    before = set(trip.sites.all())
    if before != set(sites):
        trip.sites.set(sites)
        inputs_changed([trip])
    for site in set(sites) - before:
        planner_note(site=site, trip=trip, by=by)
    return trip


def _co_leaders_set(trip: Trip, wanted: set[Any]) -> None:
    """Other co-leaders; whoever leaves knows the address of the trip's calendar, so that it gets a new one."""
    left = set(trip.co_leaders.all()) - wanted
    trip.co_leaders.set(wanted)
    if left:
        feed_address_replace(kind="feed_trip", owner_uuid=trip.uuid)


@transaction.atomic
def leader_details_save(*, details: LeaderDetails, email: str, seen_version: int) -> None:
    """Save what participants are told of a leader, and the leader's own address.

    `Stale` where it changed since; `seen_version` is 0 for what was not there yet.
    """
    if email != details.leader.email:
        details.leader.email = email
        details.leader.save(update_fields=["email"])
    if details.pk is None:
        details.save()
    else:
        row_save(row=details, seen_version=seen_version)


@transaction.atomic
def rules_reset(*, rules: TripRules, seen_version: int) -> TripRules:
    """The rules back to the documented defaults; the scoring stays. `Stale` where they changed since."""
    kept = {field.name for field in Row._meta.get_fields()} | {"id", "trip", *scoring_fields()}
    names = [field.name for field in TripRules._meta.concrete_fields if field.name not in kept]
    return _to_defaults(rules, names, seen_version)


@transaction.atomic
def scoring_reset(*, rules: TripRules, seen_version: int) -> TripRules:
    """The scoring back to the documented defaults; the other rules stay. `Stale` where they changed since."""
    return _to_defaults(rules, scoring_fields(), seen_version)


def _to_defaults(rules: TripRules, names: Iterable[str], seen_version: int) -> TripRules:
    fresh = TripRules()
    for name in names:
        setattr(rules, name, getattr(fresh, name))
    return row_save(row=rules, seen_version=seen_version)
