"""A leader's page of one trip."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponseBase

from trips.selectors.trip import trip_for

View = Callable[..., HttpResponseBase]


def trip_page(view: View) -> View:
    """A page that gets its trip in place of the trip's uuid: signed in, and 404 for the trip of somebody else."""

    @login_required
    @wraps(view)
    def answer(request: HttpRequest, trip_uuid: UUID, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return view(request, trip_for(request.user, trip_uuid), *args, **kwargs)

    return answer
