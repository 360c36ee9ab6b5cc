"""By car: a list for each driver of a day, handed over as a link."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_POST, require_safe

from participants.access import in_readers_language
from participants.mail import public_address
from participants.services import LinkRefused, link_check
from participants.speaking import speaking
from trips.models import Trip
from trips.selectors.drivers import KIND, driver_addresses, driver_days, driver_language, driver_list_of
from trips.selectors.trip import leaders_reached
from trips.services.driver_lists import driver_link_make
from trips.views.trip_page import trip_page

GONE = {"unknown": 404}  # the others opened once: 410


@trip_page
@require_safe
def driver_lists(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The drivers of each day that is not over, with the link to hand over."""
    now = timezone.now()
    addresses = driver_addresses(trip)
    paths = {key: reverse("trips:driver-list-show", args=[token]) for key, token in addresses.items()}
    lines = [
        (one, public_address(paths[key], request) if key in paths else "")
        for key, one in driver_days(trip, now=now).items()
        if one.ends_at > now
    ]
    return render(request, "trips/driver_lists.html", {"trip": trip, "lines": lines})


@trip_page
@require_POST
def driver_link(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Make or renew the link of one driver's day."""
    now = timezone.now()
    known = {(str(day), key): one for (day, key), one in driver_days(trip, now=now).items()}
    wanted = known.get((request.POST.get("day", ""), request.POST.get("driver", "")))
    if wanted is None or wanted.ends_at <= now:
        messages.error(request, "Nobody drives then by the issued rota, or that day is over. Choose from the list.")
    else:
        driver_link_make(trip=trip, wanted=wanted, now=now)
        messages.success(request, "Copy the new link and give it to the driver. A link made before no longer opens.")
    return redirect("trips:driver-lists", trip_uuid=trip.uuid)


@require_safe
@in_readers_language
def driver_list_show(request: HttpRequest, token: str) -> HttpResponse:
    """The list behind a link: whom to drive where and when, with telephones, for that day alone."""
    try:
        row = driver_list_of(link_check(token, kinds=(KIND,)).owner_uuid)
    except LinkRefused as refused:
        status = GONE.get(refused.reason, 410)
        return _private(render(request, "trips/driver_list_dead.html", {"reason": refused.reason}, status=status))
    now = timezone.now()
    with speaking(driver_language(row)):
        own = driver_days(row.trip, now=now, only=row.day).get((row.day, row.driver))
        here = now.astimezone(ZoneInfo(own.site.time_zone)) if own else now
        context = {"row": row, "own": own, "now": here, "leaders": leaders_reached(row.trip)}
        return _private(render(request, "trips/driver_list_show.html", context))


def _private(answer: HttpResponse) -> HttpResponse:
    patch_cache_control(answer, private=True, no_store=True)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return answer
