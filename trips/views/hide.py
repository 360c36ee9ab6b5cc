"""Sites and hides: the list of a trip, their editors with a live drawing."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.core.errors import CoreError
from participants.versions import Stale, row_update
from trips.core.light import session_light
from trips.forms.hide import HideForms
from trips.forms.site import SiteForm
from trips.forms.stale import STALE, seen_version
from trips.models import Hide, Site, Trip
from trips.selectors.light import day_session, sketch_drawings
from trips.selectors.site import (
    day_of_page,
    hide_for,
    hides_of,
    own_hide_for,
    site_for,
    sites_closed,
    sketch,
    trip_asked,
    trip_of_page,
    units_at,
)
from trips.services.site import HideInUse, HideParts, hide_delete, hide_save, site_create
from trips.views.estate import owned_context
from trips.views.trip_page import trip_page

HIDE_ORDER_WORDS = [("name", "by name"), ("drive", "by the drive"), ("lacking", "by what lacks most")]


@trip_page
@require_safe
def trip_hides(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The sites of a trip with their hides and what each lacks."""
    order = request.GET.get("order", "name")
    context = {"trip": trip, "sites": hides_of(request.user, trip, order), "closed": sites_closed(request.user, trip)}
    context |= {"orders": HIDE_ORDER_WORDS, "order": order}
    return render(request, "trips/trip_hides.html", context)


def _filled(request: HttpRequest) -> Any:
    """What was posted; a pressed offer or waypoint fills the position in."""
    if request.method != "POST":
        return None
    data = request.POST.copy()
    if data.get("take"):
        data["position"] = str(data["take"])
        data["position_sure"] = ""
    return data


def _saving(request: HttpRequest) -> bool:
    """Whether the form was posted to be saved, not to be filled in or drawn."""
    return request.method == "POST" and not request.POST.get("take") and request.POST.get("step", "save") == "save"


@login_required
@require_http_methods(["GET", "POST"])
def site_new(request: HttpRequest) -> HttpResponse:
    """A new site; opened from a trip it becomes one of the trip's."""
    trip, today = trip_asked(request.user, request.GET.get("trip")), timezone.now().date()
    form = SiteForm(_filled(request), request.FILES or None, instance=Site(), today=today, units=units_at(trip))
    if _saving(request) and form.is_valid():
        site = site_create(leader=request.user, site=form.save(commit=False), trip=trip)
        messages.success(request, f"{site.name} is saved. Add its hides next.")
        return redirect("trips:hide-new", site_uuid=site.uuid)
    return render(request, "trips/site_edit.html", {"form": form, "trip": trip})


@login_required
@require_http_methods(["GET", "POST"])
def site_edit(request: HttpRequest, site_uuid: UUID) -> HttpResponse:
    """Change a site."""
    site = site_for(request.user, site_uuid)
    trip = trip_of_page(request.user, request.GET.get("trip"), site)
    seen, today = site.version, timezone.now().date()
    form = SiteForm(_filled(request), request.FILES or None, instance=site, today=today, units=units_at(trip))
    if _saving(request) and form.is_valid():
        try:
            row_update(row=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "The site is saved.")
            return redirect("trips:site-edit", site_uuid=site_uuid)
        except Stale:
            form.add_error(None, STALE)
    context = {"form": form, "site": site, "seen": seen, "trip": trip} | owned_context(request.user, site)
    return render(request, "trips/site_edit.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def hide_new(request: HttpRequest, site_uuid: UUID) -> HttpResponse:
    """A new hide."""
    return _hide_page(request, Hide(site=site_for(request.user, site_uuid)))


@login_required
@require_http_methods(["GET", "POST"])
def hide_edit(request: HttpRequest, hide_uuid: UUID) -> HttpResponse:
    """Change a hide, its views and its seats."""
    return _hide_page(request, hide_for(request.user, hide_uuid))


def _hide_page(request: HttpRequest, hide: Hide) -> HttpResponse:
    trip = trip_of_page(request.user, request.GET.get("trip"), hide.site)
    seen, today = hide.version, timezone.now().date()
    forms = HideForms(_filled(request), request.FILES or None, hide=hide, today=today, units=units_at(trip))
    if _saving(request) and forms.is_valid() and _saved(request, forms, hide):
        return redirect("trips:hide-edit", hide_uuid=hide.uuid)
    day = day_of_page(request.POST.get("draw_day"), trip, today)
    context = {"forms": forms, "row": hide, "site": hide.site, "trip": trip, "seen": seen, "draw_day": day}
    context["drawings"] = _sketches(forms, hide, day, units_at(trip))
    context["saving"] = _saving(request)
    part = request.headers.get("HX-Target") == "drawings"
    return render(request, "trips/hide_edit.html#drawings" if part else "trips/hide_edit.html", context)


def _saved(request: HttpRequest, forms: HideForms, hide: Hide) -> bool:
    """Save the three together; a refusal stands in the form."""
    parts = HideParts(
        [*forms.views.save(commit=False), *forms.seats.save(commit=False)],
        [*forms.views.deleted_objects, *forms.seats.deleted_objects],
    )
    seen = seen_version(request.POST) if hide.pk else None
    try:
        hide_save(hide=forms.hide.save(commit=False), parts=parts, seen_version=seen)
    except Stale:
        forms.hide.add_error(None, STALE)
    except HideInUse as used:
        forms.hide.add_error(
            None, f"Turns of a rota sit in “{used.name}”, and rotas are kept. Say when it is out of use."
        )
    else:
        messages.success(request, f"{hide.name} is saved. A rota made before keeps what it was made with.")
        return True
    return False


def _sketches(forms: HideForms, hide: Hide, day: Any, units: str) -> list[str]:
    """The seat's drawing of every view that can be drawn as typed."""
    views = forms.drawable() if forms.hide.is_bound else list(hide.views.all()) if hide.pk else []
    try:
        value = sketch(forms.hide.instance, views)
        return sketch_drawings(session_light(value, day_session(day, hide.site.time_zone, "clear")), units)
    except CoreError:
        return []


@login_required
@require_POST
def hide_remove(request: HttpRequest, hide_uuid: UUID) -> HttpResponse:
    """Delete a hide that no rota uses; the site's own leader alone, since other trips may go there."""
    hide = own_hide_for(request.user, hide_uuid)
    trip = trip_of_page(request.user, request.GET.get("trip"), hide.site)
    try:
        hide_delete(hide=hide)
        messages.success(request, f"{hide.name} is deleted.")
    except HideInUse:
        messages.error(
            request, f"Turns of a rota are in {hide.name}, and rotas are kept. Close it for sessions instead."
        )
    return redirect("trips:trip-hides", trip_uuid=trip.uuid) if trip else redirect("trips:trip-list")
