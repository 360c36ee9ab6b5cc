"""A leader's page of one trip."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponseBase

from participants.access import tells_what_was_done
from trips.selectors.trip import trip_for

View = Callable[..., HttpResponseBase]
# Pages that a leader's device keeps for the time without a network; none of them has a health note.
KEPT_OFFLINE = ("board-show", "day-show", "out-show", "rota-show", "emergency-show")


def trip_page(view: View) -> View:
    """A page that gets its trip in place of the trip's uuid: signed in, and 404 for the trip of somebody else.

    X-Kept-By names the leader whose device may keep the answer: not a part of a page, nor what was just done.
    """

    @login_required
    @wraps(view)
    def answer(request: HttpRequest, trip_uuid: UUID, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, trip_for(request.user, trip_uuid), *args, **kwargs)
        match = request.resolver_match
        is_whole = match is not None and match.url_name in KEPT_OFFLINE and not request.headers.get("HX-Request")
        if is_whole and response.status_code == 200 and not tells_what_was_done(request):
            response.headers["X-Kept-By"] = f"leader-{request.user.pk}"
        return response

    return answer
