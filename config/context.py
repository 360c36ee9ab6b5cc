"""What every template can read."""

from django.http import HttpRequest

SCHEME_COOKIE = "scheme"
SCHEMES = ("light", "dark")


def house(request: HttpRequest) -> dict[str, str]:
    """`scheme`: the colours this person chose, or empty for those of the device."""
    chosen = request.COOKIES.get(SCHEME_COOKIE, "")
    return {"scheme": chosen if chosen in SCHEMES else ""}
