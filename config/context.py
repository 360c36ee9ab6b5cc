"""What every template can read."""

from django.http import HttpRequest
from django_guid import get_guid

SCHEME_COOKIE = "scheme"
SCHEMES = ("light", "dark")


def house(request: HttpRequest) -> dict[str, str]:
    """`scheme`: the colours this person chose, or empty for those of the device; `request_number`: as in the log."""
    chosen = request.COOKIES.get(SCHEME_COOKIE, "")
    return {"scheme": chosen if chosen in SCHEMES else "", "request_number": get_guid() or ""}
