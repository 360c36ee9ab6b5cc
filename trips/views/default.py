"""Rules and scoring of a trip back to their defaults, apart, each after a look at what that changes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from participants.versions import Stale
from trips.documents.wording.scoring import scoring_labels
from trips.forms.stale import STALE_LOOK, seen_version
from trips.forms.trip import RULE_LABELS
from trips.models import Trip, TripRules
from trips.selectors.rules_default import default_changes
from trips.selectors.trip import trip_for
from trips.services.trip import rules_reset, scoring_reset
from trips.views.trip_page import trip_page


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
