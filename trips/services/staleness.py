"""Rotas and papers go stale when a row behind them is deleted; that leaves no timestamp, so the trip keeps one."""

from collections.abc import Iterable

from django.utils import timezone

from trips.models import Trip


def inputs_changed(trips: Iterable[Trip], *, field: str = "parts_changed_at") -> None:
    """Note now that an input of these trips' rotas was deleted. Versions stay, so that no open form is refused for it.

    Call it in the transaction of the removal; give the trips as they were known before it.
    """
    keys = {trip.pk for trip in trips}
    Trip.objects.filter(pk__in=keys).update(**{field: timezone.now()})


def drives_changed(trip: Trip) -> None:
    """Note now that a car or a run was taken out or replaced: what was told of drives is no longer true.

    Rotas rest on it only where somebody of the trip drives.
    """
    inputs_changed([trip], field="drives_changed_at")
