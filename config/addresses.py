"""Where a request comes from, also behind a proxy."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str | None:
    """The address of whoever asks, or None where it is unknown (a socket).

    Only a proxy named in TRUSTED_PROXIES is believed about whom it forwards, so nobody hides behind a typed header.
    """
    address = request.META.get("REMOTE_ADDR", "")
    hops = [hop.strip() for hop in request.headers.get("X-Forwarded-For", "").split(",")]
    while hops and address in settings.TRUSTED_PROXIES:
        address = hops.pop()
    try:
        return str(ip_address(address))
    except ValueError:
        return None
