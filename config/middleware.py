"""What every answer carries, and what every request leaves behind."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

# The survey of a hide asks, on a press, for the place and the compass of the phone.
OPEN_FEATURES = ("accelerometer", "geolocation", "gyroscope", "magnetometer")
CLOSED_FEATURES = ("camera", "display-capture", "microphone", "midi", "payment", "usb")
PERMISSIONS_POLICY = ", ".join(
    [f"{feature}=(self)" for feature in OPEN_FEATURES] + [f"{feature}=()" for feature in CLOSED_FEATURES]
)
SEEN_HOUR = "seen_hour"  # in a leader's session


def permissions_policy(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """What pages may ask of the device; nothing of another site may ask for anything."""

    def add_header(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        return response

    return add_header


def this_hour() -> str:
    """The hour it is, to tell hours apart."""
    return f"{timezone.now():%Y-%m-%d %H}"


def leader_seen(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """A leader's session in use is stored anew once an hour, so that its list says when each was last used."""

    def note(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        session = request.session
        if session.accessed and session.get(SEEN_HOUR, this_hour()) != this_hour():
            session[SEEN_HOUR] = this_hour()
        return response

    return note
