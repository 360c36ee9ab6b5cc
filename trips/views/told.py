"""Who was told of which change, ticked by the leader for people without a phone."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from participants.queued import client_uuid, filled_at, is_queued
from trips.forms.rota import ToldTickForm
from trips.selectors.person import trip_zone
from trips.selectors.told import notice_for, told_issues
from trips.selectors.trip import trip_for
from trips.services.notices import ReadByPerson, notice_tick


@login_required
@require_safe
def told_list(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """Each issue with the people it changed something for: how they hear of it, told, confirmed."""
    trip = trip_for(request.user, trip_uuid)
    context = {"trip": trip, "issues": told_issues(trip), "zone": trip_zone(trip)}
    return render(request, "trips/told_list.html", context)


@login_required
@require_POST
def told_tick(request: HttpRequest, trip_uuid: UUID, notice_uuid: UUID) -> HttpResponse:
    """Set or take back one tick."""
    trip = trip_for(request.user, trip_uuid)
    notice = notice_for(trip, notice_uuid)
    form, refused = ToldTickForm(request.POST), ""
    if form.is_valid():
        try:
            tick = form.cleaned_data["tick"]
            notice_tick(
                notice=notice, tick=tick, at=filled_at(request, timezone.now()), client_uuid=client_uuid(request)
            )
        except ReadByPerson as read:
            refused = f"{read.name} read it on their own page; that stays."
    else:
        refused = "That button is not known; nothing was ticked."
    if is_queued(request):
        return JsonResponse({"taken": not refused, "errors": [refused] if refused else []})
    if refused:
        messages.error(request, refused)
    return redirect(reverse("trips:told-list", args=[trip_uuid]) + f"#notice-{notice_uuid}")
