"""The way home, the colours, what a monitor asks, and the pages for what goes wrong."""

import sys

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe
from django_guid import get_guid

from config.context import SCHEME_COOKIE, SCHEMES
from config.forms import SchemeForm
from config.health import signs
from participants.access import in_readers_language, person_of
from participants.core.language import gettext as _
from trips.selectors.trip import running_trip
from trips.services.busy import is_busy, is_unwritable

BUSY_RETRY_S = "10"


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Leaders go to the board of the trip that runs, or else to their trips; participants to their days.

    Everybody else goes to the sign-in page.
    """
    if request.user.is_authenticated:
        running = running_trip(request.user, timezone.now())
        return redirect("trips:board-show", running.uuid) if running else redirect("trips:trip-list")
    person = person_of(request)
    return redirect("trips:my-start", person_uuid=person.uuid) if person else redirect("sign-in")


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone asks before it puts the pages on its home screen; they start at the way home."""
    png = [("fairhide/icon-192.png", "192x192"), ("fairhide/icon-512.png", "512x512")]
    icons = [{"src": static(name), "sizes": sizes, "type": "image/png", "purpose": "any"} for name, sizes in png]
    icons.append({"src": static(png[1][0]), "sizes": png[1][1], "type": "image/png", "purpose": "maskable"})
    told = {"id": "/", "name": "Fairhide", "short_name": "Fairhide", "start_url": "/", "scope": "/", "icons": icons}
    told |= {"display": "standalone", "background_color": "#f7f5ef", "theme_color": "#1e3c2c"}
    return JsonResponse(told, content_type="application/manifest+json")


@require_safe
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """What a monitor asks: 200 when all is well, else 503; figures without names or secrets."""
    found = signs()
    well = all(sign.well for sign in found)
    told = {sign.name: {"well": sign.well, "value": sign.value} for sign in found}
    return JsonResponse({"well": well, "signs": told}, status=200 if well else 503)


@require_POST
def scheme_set(request: HttpRequest) -> HttpResponse:
    """Keep the choice of light or dark pages in a cookie, and go back."""
    form = SchemeForm(request.POST)
    if not form.is_valid():
        return redirect("home")
    response = redirect(form.cleaned_data["next"])
    if form.cleaned_data["scheme"] in SCHEMES:
        secure = bool(settings.SESSION_COOKIE_SECURE)
        year_s = 60 * 60 * 24 * 365
        response.set_cookie(SCHEME_COOKIE, form.cleaned_data["scheme"], max_age=year_s, secure=secure, samesite="Lax")
    else:
        response.delete_cookie(SCHEME_COOKIE, samesite="Lax")
    return response


@in_readers_language
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form without a fresh token: in words, and nothing saved."""
    return render(request, "403.html", {"csrf_failed": True, "title": _("That form was too old")}, status=403)


@in_readers_language
def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "400.html", status=400)


@in_readers_language
def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", status=403)


@in_readers_language
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    """Drawn without anything that could fail again; a busy database or a full disk is no break, and says so."""
    numbered, error = {"request_number": get_guid()}, sys.exception()
    if is_unwritable(error):
        return HttpResponse(render(None, "507.html", numbered).content, status=507)
    if is_busy(error):
        page = render(None, "503.html", numbered).content
        return HttpResponse(page, status=503, headers={"Retry-After": BUSY_RETRY_S})
    return HttpResponse(render(None, "500.html", numbered).content, status=500)
