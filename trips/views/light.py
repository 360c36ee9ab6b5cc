"""The light: of a hide on a day and through a year, and of a trip."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from participants.core.errors import CoreError
from trips.documents.drawings import marks_drawing
from trips.documents.wording.heat import HEAT_SOURCE
from trips.documents.wording.places import light_refusal
from trips.forms.light import LightForm, WishForm
from trips.models import Trip
from trips.selectors.light import LightChoice, hide_day, light_of_trip
from trips.selectors.site import day_of_page, hide_for, trip_of_page
from trips.selectors.trip import open_sites
from trips.views.trip_page import trip_page


@login_required
@require_safe
def hide_light(request: HttpRequest, hide_uuid: UUID) -> HttpResponse:
    """The light of a hide: the seat's drawing for a day, classes and cautions, the year map."""
    hide = hide_for(request.user, hide_uuid)
    trip = trip_of_page(request.user, request.GET.get("trip"), hide.site)
    form = LightForm(request.GET, day=day_of_page(None, trip, timezone.now().date()))
    context: dict[str, Any] = {"row": hide, "trip": trip, "form": form}
    if form.is_valid():
        try:
            found = hide_day(hide, trip, LightChoice(**form.cleaned_data))
            context |= {"found": found, "marks": marks_drawing(found.settings)}
        except CoreError as refused:
            form.add_error("day", light_refusal(refused))
    part = request.headers.get("HX-Target") == "light"
    return render(request, "trips/hide_light.html#light" if part else "trips/hide_light.html", context)


@trip_page
@require_safe
def trip_light(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The light of every hide in every session of a trip."""
    form = WishForm(request.GET)
    wish = form.cleaned_data["wish"] if form.is_valid() else "front"
    found = light_of_trip(trip, wish)
    context = {"trip": trip, "form": form, "wish": wish, "found": found, "marks": marks_drawing(found.settings)}
    context["open_sites"] = open_sites(request.user, trip)
    if any(line.hottest for line in found.lines):
        context["heat_source"] = HEAT_SOURCE
    return render(request, "trips/trip_light.html", context)
