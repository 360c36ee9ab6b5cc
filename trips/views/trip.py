"""Trips: the list, one trip with what it still lacks, its rules; and the words of the house."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from participants.versions import Stale, row_update
from trips.documents.wording.glossary import CHAPTERS
from trips.forms.stale import STALE, seen_version
from trips.forms.trip import LeaderForm, RulesForm, TripForm
from trips.models import Trip
from trips.selectors.rota import issued_stale
from trips.selectors.trip import leader_details, trip_gaps, trip_rows
from trips.selectors.trip_path import trip_path
from trips.services.trip import leader_details_save, trip_create, trip_update
from trips.views.trip_page import trip_page


@login_required
@require_safe
def trip_list(request: HttpRequest) -> HttpResponse:
    """All trips of the leader."""
    return render(request, "trips/trip_list.html", {"trips": trip_rows(request.user, timezone.now())})


@login_required
@require_http_methods(["GET", "POST"])
def trip_new(request: HttpRequest) -> HttpResponse:
    """A new trip."""
    form = TripForm(request.POST or None, asker=request.user)
    if request.method == "POST" and form.is_valid():
        trip = form.save(commit=False)
        trip = trip_create(leader=request.user, trip=trip, **form.related)
        messages.success(request, f"{trip.name} is there. What it still lacks stands below, in order.")
        return redirect("trips:trip-show", trip_uuid=trip.uuid)
    return render(request, "trips/trip_new.html", {"form": form})


@trip_page
@require_safe
def trip_show(request: HttpRequest, trip: Trip) -> HttpResponse:
    """One trip with what it still lacks, in the order to mend it."""
    gaps = trip_gaps(request.user, trip)
    context = {
        "trip": trip,
        "path": trip_path(trip, gaps, timezone.now()),
        "must": [gap for gap in gaps if gap.stops_a_rota],
        "sites": list(trip.sites.all()),
        "stale": issued_stale(trip),
        "co_leaders": [user.get_full_name() or user.get_username() for user in trip.co_leaders.order_by("username")],
    }
    return render(request, "trips/trip_show.html", context)


@trip_page
@require_http_methods(["GET", "POST"])
def trip_edit(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Name, days, sites and units of a trip."""
    seen = trip.version
    form = TripForm(request.POST or None, instance=trip, asker=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            came = seen_version(request.POST)
            trip_update(trip=form.save(commit=False), seen_version=came, by=request.user, **form.related)
            messages.success(request, "Saved.")
            return redirect("trips:trip-show", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    return render(request, "trips/trip_edit.html", {"form": form, "trip": trip, "seen": seen})


@login_required
@require_http_methods(["GET", "POST"])
def leader_edit(request: HttpRequest) -> HttpResponse:
    """What participants are told of the leader who asks."""
    details = leader_details(request.user)
    seen = details.version if details.pk else 0
    form = LeaderForm(request.POST or None, instance=details)
    if request.method == "POST" and form.is_valid():
        try:
            leader_details_save(
                details=form.save(commit=False),
                email=form.cleaned_data["email"],
                seen_version=seen_version(request.POST),
            )
            messages.success(request, "Saved. Pages show it now. Print the papers again.")
            return redirect("trips:leader-edit")
        except Stale:
            form.add_error(None, STALE)
    return render(request, "trips/leader_edit.html", {"form": form, "seen": seen})


@trip_page
@require_http_methods(["GET", "POST"])
def rules_edit(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The trip's rules in plain words."""
    rules = trip.rules
    seen = rules.version
    form = RulesForm(request.POST or None, instance=rules)
    if request.method == "POST" and form.is_valid():
        try:
            row_update(row=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "The rules are saved. Rotas made before keep the rules they were made with.")
            return redirect("trips:trip-show", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    return render(request, "trips/rules_edit.html", {"form": form, "trip": trip, "seen": seen})


@require_safe
def glossary(request: HttpRequest) -> HttpResponse:
    """Every word with what it means; open to all, since it tells nothing of anybody."""
    return render(request, "trips/glossary.html", {"chapters": CHAPTERS})
