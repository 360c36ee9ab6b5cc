"""Help: the handbook and the methods, as the documents of the repository have them; open to all."""

from functools import cache

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from trips.documents.help_pages import help_html

PAGES = {"handbook.md": "trips:handbook", "methods.md": "trips:methods"}


@require_safe
def handbook(request: HttpRequest) -> HttpResponse:
    """For leaders: from nothing to a rota that everybody knows."""
    return render(request, "trips/help.html", {"title": "Handbook", "body": _body("handbook.md")})


@require_safe
def methods(request: HttpRequest) -> HttpResponse:
    """How each figure is computed, with sources and checks."""
    return render(request, "trips/help.html", {"title": "Methods", "body": _body("methods.md")})


@cache
def _body(name: str) -> SafeString:
    """A document that comes with the code, so that it is read once and may hold HTML."""
    text = (settings.BASE_DIR / "docs" / name).read_text(encoding="utf-8")
    return mark_safe(help_html(text, {file: reverse(url) for file, url in PAGES.items()}))
