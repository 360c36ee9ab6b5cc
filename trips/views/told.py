"""Who was told of which change, ticked by the leader for people without a phone."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from participants.queued import filled_at, is_queued
from trips.forms.rota import ToldTickForm
from trips.models import Trip
from trips.selectors.person import trip_zone
from trips.selectors.told import notice_for, told_issues
from trips.services.notices import ReadByPerson, notice_tick
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def told_list(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Each issue with the people it changed something for: how they hear of it, told, confirmed."""
    context = {"trip": trip, "issues": told_issues(trip), "zone": trip_zone(trip)}
    return render(request, "trips/told_list.html", context)


@trip_page
@require_POST
def told_tick(request: HttpRequest, trip: Trip, notice_uuid: UUID) -> HttpResponse:
    """Set or take back one tick."""
    notice = notice_for(trip, notice_uuid)
    form, refused = ToldTickForm(request.POST), ""
    if form.is_valid():
        try:
            tick = form.cleaned_data["tick"]
            notice_tick(notice=notice, tick=tick, at=filled_at(request, timezone.now()))
        except ReadByPerson as read:
            refused = f"{read.name} read it on their own page; that stays."
    else:
        refused = "That button is not known; nothing was ticked."
    if is_queued(request):
        return JsonResponse({"taken": not refused, "errors": [refused] if refused else []})
    if refused:
        messages.error(request, refused)
    return redirect(reverse("trips:told-list", args=[trip.uuid]) + f"#notice-{notice_uuid}")
