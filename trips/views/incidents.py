"""Records of incidents: the list with a form for one more, and each as PDF."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from trips.documents.scripts import NoFont, PaperFailed
from trips.documents.wording.papers import paper_fault
from trips.forms.incidents import IncidentForm
from trips.models import Trip
from trips.selectors.incidents import incident_for, incidents_of, session_begun
from trips.selectors.person import trip_zone
from trips.services.incidents import IncidentSaid, incident_make, incident_pdf
from trips.views.trip_page import trip_page


@trip_page
@require_http_methods(["GET", "POST"])
def incident_list(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The trip's records, and a form for one more."""
    now = timezone.now()
    form = IncidentForm(request.POST or None, trip=trip, initial={"session": session_begun(trip, now)})
    if request.method == "POST" and form.is_valid():
        record = incident_make(trip=trip, told=IncidentSaid(**form.cleaned_data), by=request.user, now=now)
        messages.success(request, f"Record {record.number} is made and frozen. What is noted later is not in it.")
        return redirect("trips:incident-list", trip_uuid=trip.uuid)
    context = {"trip": trip, "form": form, "records": incidents_of(trip), "zone": trip_zone(trip)}
    return render(request, "trips/incident_list.html", context)


@trip_page
@require_safe
def incident_file(request: HttpRequest, trip: Trip, incident_uuid: UUID) -> HttpResponse:
    """One record as PDF; back to the list with a sentence where it cannot be printed."""
    record = incident_for(trip, incident_uuid)
    try:
        pdf = incident_pdf(record)
    except (NoFont, PaperFailed) as failed:
        messages.error(request, paper_fault(failed))
        return redirect("trips:incident-list", trip_uuid=trip.uuid)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="incident-{record.number}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer
