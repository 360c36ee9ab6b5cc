"""Rotas go stale when an input row is deleted; that leaves no timestamp of its own, so the trip keeps one."""

from collections.abc import Iterable

from django.utils import timezone

from trips.models import Trip


def inputs_changed(trips: Iterable[Trip]) -> None:
    """Note now that an input of these trips' rotas was deleted. Versions stay, so that no open form is refused for it.

    Call it in the transaction of the removal; give the trips as they were known before it.
    """
    keys = {trip.pk for trip in trips}
    Trip.objects.filter(pk__in=keys).update(parts_changed_at=timezone.now())
