"""What rotas are made from: a part that is gone has no moment of its own, so its trips note when it went."""

from collections.abc import Iterable

from django.utils import timezone

from trips.models import Trip


def parts_changed(trips: Iterable[Trip]) -> None:
    """Note now that a part was taken out of these trips. Versions stay, so that no open form is refused for it.

    Call it in the transaction of the removal; give the trips as they were known before it.
    """
    keys = {trip.pk for trip in trips}
    Trip.objects.filter(pk__in=keys).update(parts_changed_at=timezone.now())
