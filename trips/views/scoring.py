"""The scoring of a trip: the numbers behind scores and verdicts, with a plot that follows what is typed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from participants.versions import Stale
from trips.assemble import rules_value
from trips.documents.drawings import scoring_drawing
from trips.documents.wording.scoring import WISH_ANGLES_DEG
from trips.forms.scoring import ScoringForm
from trips.forms.stale import STALE, seen_version
from trips.models import Trip
from trips.services.trip import rules_update
from trips.views.trip_page import trip_page


@trip_page
@require_http_methods(["GET", "POST"])
def scoring_edit(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The scoring with its defaults; asked to draw, it answers with the plot of what is typed and saves nothing."""
    rules, seen = trip.rules, trip.rules.version
    form = ScoringForm(request.POST or None, instance=rules)
    drawing = request.POST.get("step") == "draw"
    if request.method == "POST" and form.is_valid() and not drawing:
        try:
            rules_update(rules=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "The scoring is saved. Rotas made before keep the scoring they were made with.")
            return redirect("trips:scoring-edit", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    plot = scoring_drawing(rules_value(form.instance).light)
    context = {"trip": trip, "form": form, "seen": seen, "plot": plot, "angles": WISH_ANGLES_DEG, "drawing": drawing}
    part = request.headers.get("HX-Target") == "scoring-plot"
    return render(request, "trips/scoring_edit.html#plot" if part else "trips/scoring_edit.html", context)
