"""The seats of all hides of a trip, as one table."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from participants.versions import Stale
from trips.forms.seat import HideSeats, all_valid, problems_of, seat_tables
from trips.forms.stale import STALE
from trips.selectors.site import seats_of
from trips.selectors.trip import trip_for
from trips.services.site import HideInUse, HideParts, hides_save


@login_required
@require_http_methods(["GET", "POST"])
def seat_table(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """Add, rename and judge the seats of a trip, all hides in one page."""
    trip = trip_for(request.user, trip_uuid)
    tables = seat_tables(request.POST or None, seats_of(request.user, trip))
    if request.method == "POST" and all_valid(tables) and _saved(tables):
        messages.success(request, "The seats are saved.")
        return redirect("trips:seat-table", trip_uuid=trip_uuid)
    context = {"trip": trip, "tables": tables, "problems": problems_of(tables)}
    return render(request, "trips/seat_table.html", context)


def _saved(tables: list[HideSeats]) -> bool:
    """Save the hides that changed, all or none; a refusal stands with its hide."""
    changed = [table for table in tables if table.changed]
    work = [
        (table.hide, HideParts([*table.seats.save(commit=False)], [*table.seats.deleted_objects]), table.seen_version)
        for table in changed
    ]
    try:
        hides_save(hides=work)
    except Stale as stale:
        _table_of(changed, stale.row.pk).stale = STALE
    except HideInUse as used:
        _table_of(
            changed, used.hide.pk
        ).stale = f"Turns of a rota sit in “{used.name}”, and rotas are kept. Say from when it is out of use instead."
    else:
        return True
    return False


def _table_of(tables: list[HideSeats], hide_pk: int) -> HideSeats:
    return next(table for table in tables if table.hide.pk == hide_pk)
