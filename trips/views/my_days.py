"""A participant's days: where do I sit, when do I leave, what do I carry, what do I set."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from participants.access import PersonRequest, person_page
from trips.selectors import my


@require_safe
@person_page
def my_start(request: PersonRequest) -> HttpResponse:
    """The person's trips."""
    return render(request, "trips/my_start.html", {"places": my.places_of(request.person)})
