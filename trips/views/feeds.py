"""Calendars that telephones subscribe to. The address is the only key, so nothing may leak it."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control
from django.utils.http import parse_etags
from django.views.decorators.http import require_safe

from participants.tokens import token_read
from trips.documents.ical import CONTENT_TYPE
from trips.services.calendars import feed_bytes, feed_mark, feed_of

GONE = "This calendar's address was replaced. Ask for the new one, or see your page.\n"


@require_safe
def feed_show(request: HttpRequest, token: str) -> HttpResponse:
    """A person's, a trip's or an owner's calendar as it was issued; an address that was replaced is gone."""
    address = token_read(token)
    if address is None:
        raise Http404("no such calendar")
    calendars = feed_of(address)
    if calendars is None:
        return _private(HttpResponse(GONE, status=410, content_type="text/plain; charset=utf-8"))
    etag = f'"{feed_mark(calendars, kind=address.kind, owner_uuid=address.owner_uuid)}"'
    asked = parse_etags(request.headers.get("If-None-Match", ""))
    if "*" in asked or etag in {one.removeprefix("W/") for one in asked}:
        answer = HttpResponse(status=304)
    else:
        content = feed_bytes(calendars, kind=address.kind, owner_uuid=address.owner_uuid)
        answer = HttpResponse(content, content_type=CONTENT_TYPE)
        answer["Content-Disposition"] = 'inline; filename="fairhide.ics"'
    answer["ETag"] = etag
    return _private(answer)


def _private(answer: HttpResponse) -> HttpResponse:
    patch_cache_control(answer, private=True, max_age=0, must_revalidate=True)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return answer
