"""The words of the house."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from trips.documents.wording.glossary import CHAPTERS


@require_safe
def glossary(request: HttpRequest) -> HttpResponse:
    """Every word with what it means; open to all, since it tells nothing of anybody."""
    return render(request, "trips/glossary.html", {"chapters": CHAPTERS})
