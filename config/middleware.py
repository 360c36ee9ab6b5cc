"""Headers that every answer carries."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# The survey of a hide asks, on a press, for the place and the compass of the phone.
OPEN_FEATURES = ("accelerometer", "geolocation", "gyroscope", "magnetometer")
CLOSED_FEATURES = ("camera", "display-capture", "microphone", "midi", "payment", "usb")
PERMISSIONS_POLICY = ", ".join(
    [f"{feature}=(self)" for feature in OPEN_FEATURES] + [f"{feature}=()" for feature in CLOSED_FEATURES]
)


def permissions_policy(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """What pages may ask of the device; nothing of another site may ask for anything."""

    def add_header(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        return response

    return add_header
