"""The leader's gear table: everybody's reach in every view, what could be lent, and what is lost, lent or shared."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.versions import Stale
from trips.forms.gear_away import GearAwayForm
from trips.forms.stale import STALE, seen_version
from trips.models import Trip
from trips.selectors.gear import gear_away_for, gear_away_rows, gear_rows
from trips.services.gear import gear_away_delete, gear_away_save
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def gear_table(request: HttpRequest, trip: Trip) -> HttpResponse:
    """People by views in one session, the verdict and set in each, then the loans."""
    found = gear_rows(trip, now=timezone.now(), session_uuid=request.GET.get("session"))
    hides = found.values.hides
    columns = [(hide.name, view.name, len(hide.views) > 1) for hide in hides for view in hide.views]
    context = {"trip": trip, "rows": found.rows, "columns": columns, "hides": hides}
    context |= {"sessions": found.values.sessions, "session": found.session, "away": gear_away_rows(found.values)}
    context |= {"loans": [loan for loan in found.wanted if loan.spare]}
    context |= {"others": [loan for loan in found.wanted if not loan.spare]}
    return render(request, "trips/gear_table.html", context)


@trip_page
@require_http_methods(["GET", "POST"])
def gear_away_edit(request: HttpRequest, trip: Trip, away_uuid: UUID | None = None) -> HttpResponse:
    """A piece lost, lent or shared: a new row, filled with a loan that was offered, or one that is there."""
    row = gear_away_for(trip, away_uuid) if away_uuid else None
    seen = row.version if row else None
    form = GearAwayForm(request.POST or None, trip=trip, row=row, asked=request.GET.dict())
    if request.method == "POST" and form.is_valid():
        try:
            gear_away_save(row=form.row, seen_version=seen_version(request.POST) if row else None)
            messages.success(request, f"{form.row.piece} is saved. Rotas made before now are out of date.")
            return redirect("trips:gear-table", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
    return render(request, "trips/gear_away_edit.html", {"trip": trip, "form": form, "row": row, "seen": seen})


@trip_page
@require_POST
def gear_away_remove(request: HttpRequest, trip: Trip, away_uuid: UUID) -> HttpResponse:
    """Undo a loss or loan."""
    row = gear_away_for(trip, away_uuid)
    gear_away_delete(row=row)
    messages.success(request, f"{row.piece} is with its owner again, from the start.")
    return redirect("trips:gear-table", trip_uuid=trip.uuid)
