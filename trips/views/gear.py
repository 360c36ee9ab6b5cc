"""The leader's gear table: everybody's reach in every view, and what could be lent."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from trips.selectors.gear import gear_rows
from trips.selectors.trip import trip_for


@login_required
@require_safe
def gear_table(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """People by views, the verdict and best set in each, then the list of loans."""
    trip = trip_for(request.user, trip_uuid)
    values, rows, wanted = gear_rows(trip)
    columns = [(hide.name, view.name, len(hide.views) > 1) for hide in values.hides for view in hide.views]
    context = {"trip": trip, "rows": rows, "columns": columns, "hides": values.hides}
    context |= {"loans": [loan for loan in wanted if loan.spare], "others": [loan for loan in wanted if not loan.spare]}
    return render(request, "trips/gear_table.html", context)
