"""The marks of a trip's scores and verdicts, with a plot that follows what is typed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from participants.versions import Stale
from trips.assemble import rules_value
from trips.documents.drawings import marks_drawing
from trips.documents.wording.marks import WISH_ANGLES_DEG
from trips.forms.marks import MarksForm
from trips.forms.stale import STALE, seen_version
from trips.models import Trip
from trips.services.trip import rules_update
from trips.views.trip_page import trip_page


@trip_page
@require_http_methods(["GET", "POST"])
def marks_edit(request: HttpRequest, trip: Trip) -> HttpResponse:
    """All marks with their defaults; asked to draw, it answers with the plot of what is typed and saves nothing."""
    rules, seen = trip.rules, trip.rules.version
    form = MarksForm(request.POST or None, instance=rules)
    drawing = request.POST.get("step") == "draw"
    if request.method == "POST" and form.is_valid() and not drawing:
        try:
            rules_update(rules=form.save(commit=False), seen_version=seen_version(request.POST, rules))
            messages.success(request, "The marks are saved. Rotas made before keep the marks they were made with.")
            return redirect("trips:marks-edit", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    plot = marks_drawing(rules_value(form.instance).light)
    context = {"trip": trip, "form": form, "seen": seen, "plot": plot, "angles": WISH_ANGLES_DEG, "drawing": drawing}
    part = request.headers.get("HX-Target") == "marks-plot"
    return render(request, "trips/marks_edit.html#plot" if part else "trips/marks_edit.html", context)
