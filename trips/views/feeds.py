"""Calendars that telephones subscribe to. The address is the only key, so nothing may leak it."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control
from django.utils.http import parse_etags
from django.views.decorators.http import require_safe

from participants.tokens import token_read
from trips.documents.ical import CONTENT_TYPE
from trips.services.calendars import calendars_of, feed_bytes, feed_is_open, feed_mark

GONE = "This calendar's address was replaced. Ask for the new one, or see your page.\n"


@require_safe
def feed_show(request: HttpRequest, token: str) -> HttpResponse:
    """A person's, a trip's or an owner's calendar as it was issued; an address that was replaced is gone.

    That nothing changed is known before anything is read that an issue kept.
    """
    address = token_read(token)
    if address is None:
        raise Http404("no such calendar")
    kind, owner = address.kind, address.owner_uuid
    is_open = feed_is_open(address)
    mark = feed_mark(kind=kind, owner_uuid=owner) if is_open else ""
    asked = parse_etags(request.headers.get("If-None-Match", "")) if mark else []
    if "*" in asked or f'"{mark}"' in {one.removeprefix("W/") for one in asked}:
        return _private(HttpResponse(status=304), mark)
    calendars = calendars_of(kind, owner) if is_open else None
    if calendars is None:
        return _private(HttpResponse(GONE, status=410, content_type="text/plain; charset=utf-8"))
    answer = HttpResponse(feed_bytes(calendars, kind=kind, owner_uuid=owner), content_type=CONTENT_TYPE)
    answer["Content-Disposition"] = 'inline; filename="fairhide.ics"'
    return _private(answer, mark)


def _private(answer: HttpResponse, mark: str = "") -> HttpResponse:
    if mark:
        answer["ETag"] = f'"{mark}"'
    patch_cache_control(answer, private=True, max_age=0, must_revalidate=True)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return answer
