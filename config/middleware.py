"""What every answer carries, what a request leaves behind, and sessions that keep nobody from reading."""

from collections.abc import Callable
from typing import Any, NoReturn

from django.contrib.sessions.exceptions import SessionInterrupted
from django.contrib.sessions.middleware import SessionMiddleware
from django.core.files.uploadhandler import FileUploadHandler, StopUpload
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from trips.services.busy import is_busy, is_unwritable

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


class ReadersSessionMiddleware(SessionMiddleware):
    """Whoever only reads gets the page, also where the database cannot note that their session goes on."""

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        """The answer, with the session saved where that is possible."""
        try:
            return super().process_response(request, response)
        except (DatabaseError, SessionInterrupted) as error:
            causes = [
                error,
                error.__context__,
                getattr(error.__context__, "__context__", None),
            ]  # Django wraps it twice
            if request.method in ("GET", "HEAD") and any(is_busy(one) or is_unwritable(one) for one in causes):
                return response
            raise


class NoUploads(FileUploadHandler):
    """Reads no file: a page that does not ask for one leaves it on the line."""

    def new_file(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise StopUpload(connection_reset=True)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Nothing comes so far."""

    def file_complete(self, file_size: int) -> None:
        """Nor here."""


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
