"""What would help where a run found no rota: carried out together with the next run."""

from datetime import datetime
from typing import Any

from django.db import transaction

from trips.models import Making, MakingState, Trip
from trips.selectors.making import last_making
from trips.services.making import Wanted, making_start
from trips.services.remedy import RemedyGone, remedy_apply


@transaction.atomic
def making_remedy(*, making: Making, number: int, by: Any, now: datetime) -> str:
    """Carry out one remedy of the trip's latest run and plan again as it did: both, once, or neither.

    Returns what was done, in words. Raises RemedyGone, NothingIssued, NothingToPlan.
    """
    trip = Trip.objects.select_for_update().get(pk=making.trip_id)
    last = last_making(trip)
    if last is None or last != making or last.state != MakingState.IMPOSSIBLE:
        raise RemedyGone(change="")
    remedies = last.explanation.get("remedies", [])
    if number >= len(remedies):
        raise RemedyGone(change="")
    remedy_apply(trip=trip, remedy=remedies[number])
    making_start(trip=trip, wanted=Wanted.again(last), by=by, now=now)
    return str(remedies[number]["phrase"])
