"""When something goes wrong: what a leader reads out about a hide, and what their device keeps without a network."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from trips.documents.overdue import AT_ONCE, DEFERS
from trips.models import Trip
from trips.selectors.emergency import emergency_page
from trips.selectors.leader_pack import kept_paths, pack_edition
from trips.views.trip_page import trip_page

# What the kept pages load beside the page that asks for the pack.
PACK_ASSETS = (
    "fairhide/rota.css",
    "fairhide/rota.js",
    "fairhide/dragging.js",
    "trips/day.css",
    "trips/safety.css",
    "trips/survey.css",
    "trips/out_ticks.js",
)


@trip_page
@require_safe
def emergency_show(request: HttpRequest, trip: Trip, hide_uuid: UUID) -> HttpResponse:
    """Where a hide is, who is there now, whom to call and what to do about somebody who is not back."""
    now = timezone.now()
    page = emergency_page(request.user, trip, hide_uuid, now=now)
    context = {"trip": trip, "page": page, "now": now, "at_once": AT_ONCE, "defers": DEFERS}
    return render(request, "trips/emergency_show.html", context)


@never_cache
@trip_page
@require_safe
def leader_pack(request: HttpRequest, trip: Trip) -> HttpResponse:
    """What the leader's device may keep of the trip for the time without a network."""
    paths = kept_paths(request.user, trip, now=timezone.now())
    facts = {"leader": f"leader-{request.user.pk}", "edition": pack_edition(trip, paths), "paths": paths}
    return JsonResponse(facts | {"assets": [static(name) for name in PACK_ASSETS]})
