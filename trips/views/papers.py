"""Papers of a trip printed in a worker, and the addresses of its calendars."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from trips.documents.file_names import safe_part
from trips.forms.papers import AddressForm, PrintForm
from trips.models import Trip
from trips.selectors.papers import last_pack, pack_ready
from trips.selectors.person import trip_zone
from trips.selectors.rota import changed_since_issue
from trips.services.calendars import feed_address_replace, feed_lines
from trips.services.paper_order import papers_order
from trips.services.papers import rota_for_papers
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def papers(request: HttpRequest, trip: Trip) -> HttpResponse:
    """What can be printed, how far the worker is, and where the calendars are."""
    rota = rota_for_papers(trip)
    drives_changed, rests_changed = changed_since_issue(rota) if rota else (None, None)
    context = {
        "trip": trip,
        "rota": rota,
        "drives_changed": drives_changed,
        "rests_changed": rests_changed,
        "zone": trip_zone(trip),
        "form": PrintForm(),
        "pack": last_pack(trip, timezone.now()),
        "feeds": feed_lines(trip, request.user),
    }
    return render(request, "trips/papers.html", context)


@trip_page
@require_POST
def papers_print(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Have a worker print everything; a second press finds the pack under way."""
    form = PrintForm(request.POST)
    size = form.cleaned_data["page_size"] if form.is_valid() else "A4"
    papers_order(trip=trip, page_size=size, by=request.user, now=timezone.now())
    return redirect("trips:papers", trip_uuid=trip.uuid)


@trip_page
@require_safe
def papers_made(request: HttpRequest, trip: Trip) -> HttpResponse:
    """How far the pack is; htmx asks for the part alone, anybody else gets the page."""
    if not request.htmx:  # type: ignore[attr-defined]
        return redirect("trips:papers", trip_uuid=trip.uuid)
    return render(request, "trips/papers.html#pack", {"trip": trip, "pack": last_pack(trip, timezone.now())})


@trip_page
@require_safe
def papers_pack(request: HttpRequest, trip: Trip, pack_uuid: UUID) -> HttpResponse:
    """The finished zip."""
    pack = pack_ready(trip, pack_uuid)
    if pack.content is None:
        raise Http404("no such pack")
    answer = HttpResponse(bytes(pack.content), content_type="application/zip")
    name = safe_part(trip.name).encode("ascii", "ignore").decode() or "trip"
    rota = f"-rota-{pack.rota.number}" if pack.rota else ""
    answer["Content-Disposition"] = f'attachment; filename="papers-{name}{rota}.zip"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@trip_page
@require_POST
def papers_address(request: HttpRequest, trip: Trip) -> HttpResponse:
    """A new address for one of the trip's calendars; the old one is gone at once."""
    form = AddressForm(request.POST, trip=trip, asker=request.user)
    if form.is_valid():
        feed_address_replace(kind=form.cleaned_data["kind"], owner_uuid=form.cleaned_data["owner_uuid"])
        messages.success(request, "The calendar has a new address. The old one is gone from now on.")
    else:
        messages.error(request, "That is no calendar of this trip.")
    return redirect("trips:papers", trip_uuid=trip.uuid)
