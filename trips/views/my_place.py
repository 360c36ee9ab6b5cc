"""Which of a person's places a page or a form of theirs is about."""

from django.utils import timezone

from participants.access import PersonRequest
from trips.models import NOT_CANCELLED, Place
from trips.selectors import my


def place_shown(asker: PersonRequest) -> Place | None:
    """The place a page shows: of the trip that its address names, else of the running or next one."""
    return _place(asker, asker.GET.get("trip"))


def place_filled(asker: PersonRequest) -> Place | None:
    """The place a form was opened for, also when its trip is over since; of a page that is opened, the one it shows.

    None where the person was cancelled: their days say so, and there is nothing left to fill in.
    """
    place = _place(asker, asker.POST.get("trip") or asker.GET.get("trip"))
    return place if place is not None and place.state in NOT_CANCELLED else None


def page_filled(asker: PersonRequest, place: Place) -> str:
    """Where a form that was taken goes on to: its own page, of that trip also where the address leads to another."""
    if "trip" in asker.GET or _place(asker, None) == place:
        return asker.get_full_path()
    return f"{asker.path}?trip={place.trip.uuid}"


def _place(asker: PersonRequest, trip_uuid: str | None) -> Place | None:
    return my.place_of(asker.person, typed_by=asker.typed_by, today=timezone.now().date(), trip_uuid=trip_uuid)
