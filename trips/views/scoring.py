"""The scoring of a trip with a plot that follows what is typed; scoring and rules back to their defaults, apart."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from participants.versions import Stale, row_update
from trips.assemble import rules_value
from trips.documents.drawings import scoring_drawing
from trips.documents.wording.scoring import WISH_ANGLES_DEG, scoring_labels
from trips.forms.scoring import ScoringForm
from trips.forms.stale import STALE, STALE_LOOK, seen_version
from trips.forms.trip import RULE_LABELS
from trips.models import Trip, TripRules
from trips.selectors.rules_default import default_changes
from trips.selectors.trip import trip_for
from trips.services.trip import rules_reset, scoring_reset
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
            row_update(row=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "The scoring is saved. Rotas made before keep the scoring they were made with.")
            return redirect("trips:scoring-edit", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    plot = scoring_drawing(rules_value(form.instance).light)
    context = {"trip": trip, "form": form, "seen": seen, "plot": plot, "angles": WISH_ANGLES_DEG, "drawing": drawing}
    part = request.headers.get("HX-Target") == "scoring-plot"
    return render(request, "trips/scoring_edit.html#plot" if part else "trips/scoring_edit.html", context)


@dataclass(frozen=True)
class Resetting:
    """One of the two: `thing` and `things` in words, what stays, the page to go back to, and how it is done."""

    thing: str
    stays: str
    page: str
    labels: Callable[[], Mapping[str, str]]
    reset: Callable[..., TripRules]

    @property
    def things(self) -> str:
        """More than one of them."""
        return f"{self.thing}s"


_RULES = Resetting(
    "rule", "The scoring of light and reach stays as it is.", "trips:rules-edit", lambda: RULE_LABELS, rules_reset
)
_SCORING = Resetting(
    "scoring number", "The rules of the trip stay as they are.", "trips:scoring-edit", scoring_labels, scoring_reset
)


@trip_page
@require_http_methods(["GET", "POST"])
def rules_default(request: HttpRequest, trip: Trip) -> HttpResponse:
    """All rules back to their defaults; the scoring stays."""
    return _default_page(request, trip, _RULES)


@trip_page
@require_http_methods(["GET", "POST"])
def scoring_default(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The scoring back to its defaults; the rules stay."""
    return _default_page(request, trip, _SCORING)


def _default_page(request: HttpRequest, trip: Trip, what: Resetting) -> HttpResponse:
    rules, stale = trip.rules, ""
    if request.method == "POST":
        try:
            what.reset(rules=rules, seen_version=seen_version(request.POST))
            messages.success(request, f"All {what.things} are back at their defaults. {what.stays}")
            return redirect(what.page, trip_uuid=trip.uuid)
        except Stale:
            stale, rules = STALE_LOOK, trip_for(request.user, trip.uuid).rules
    changes = default_changes(rules, what.labels())
    context = {"trip": trip, "seen": rules.version, "changes": changes, "stale": stale, "what": what}
    return render(request, "trips/rules_default.html", context)
