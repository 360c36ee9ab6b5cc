"""The day board: what is true now, and the sheets that change it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from trips.models import Trip
from trips.selectors.board import board
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def board_show(request: HttpRequest, trip: Trip) -> HttpResponse:
    """What comes next, when which car leaves, who is where; htmx asks for that part alone."""
    part = "#now" if request.headers.get("HX-Request") else ""
    return render(request, f"trips/board_show.html{part}", {"trip": trip, "page": board(trip, now=timezone.now())})
