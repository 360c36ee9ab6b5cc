"""What every template can read."""

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from django_guid import get_guid

from trips.selectors.day_state import OverdueLine, overdue_lines

SCHEME_COOKIE = "scheme"
SCHEMES = ("light", "dark", "night")


def house(request: HttpRequest) -> dict[str, Any]:
    """What the base of all pages reads.

    `scheme`: the colours this person chose, or empty for those of the device; `request_number`: as in the log;
    `overdue_lines`: whom a leader's page warns of, looked up by the pages that ask.
    """

    def overdue() -> tuple[OverdueLine, ...]:
        return overdue_lines(getattr(request, "user", None), now=timezone.now())

    chosen = request.COOKIES.get(SCHEME_COOKIE, "")
    return {"scheme": chosen if chosen in SCHEMES else "", "request_number": get_guid() or "", "overdue_lines": overdue}
