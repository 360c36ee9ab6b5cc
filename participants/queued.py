"""Forms that a phone filled without a network and sends later: answered in JSON instead of a page."""

import uuid
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string

QUEUED_HEADER = "X-Queued"
AT_ONCE = "now"
WAITED_HEADER = "X-Queued-Seconds"
LONGEST_WAIT_S = 30 * 86400  # longer than any trip: what claims more has a broken clock


def is_queued(request: HttpRequest) -> bool:
    """Whether a script sends this form from its queue."""
    return QUEUED_HEADER in request.headers


def filled_at(request: HttpRequest, now: datetime) -> datetime:
    """When the form was filled in: before `now` by as long as it waited on the phone, whatever hour the phone shows."""
    try:
        waited_s = int(request.headers.get(WAITED_HEADER, "0"))
    except ValueError:
        waited_s = 0
    return now - timedelta(seconds=waited_s if 0 <= waited_s <= LONGEST_WAIT_S else 0)


def client_uuid(request: HttpRequest) -> uuid.UUID | None:
    """The uuid the phone gave this form, so that it is taken once; None for a form sent at once."""
    return _posted_uuid(request, "client_uuid")


def row_uuid(request: HttpRequest) -> uuid.UUID | None:
    """The uuid the phone gave the new row that this form makes, the same however often the form is changed and sent."""
    return _posted_uuid(request, "row_uuid")


def _posted_uuid(request: HttpRequest, name: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(request.POST.get(name, ""))
    except ValueError:
        return None


def form_taken(request: HttpRequest, said: str, page: str = "") -> HttpResponse:
    """The form is saved: on to `page` (empty: back to its own) with a message; for the queue in JSON.

    Whoever waits for the answer goes on to a page and finds the message there; a form that waited was sent alone.
    """
    onwards = page or request.get_full_path()
    if not is_queued(request):
        messages.success(request, said)
        return redirect(onwards)
    if request.headers[QUEUED_HEADER] == AT_ONCE:
        messages.success(request, said)
    return JsonResponse({"taken": True, "next": onwards})


def form_page(request: HttpRequest, template: str, context: Mapping[str, Any], *own: forms.BaseForm) -> HttpResponse:
    """The page with its form, which its context names; for the queue what is wrong with it, in words.

    Whoever waits for the answer gets the page with it.
    """
    if not is_queued(request) or request.method != "POST":
        return render(request, template, context)
    said: dict[str, Any] = {"taken": False, "errors": [text for form in own for text in form_errors(form)]}
    if request.headers[QUEUED_HEADER] == AT_ONCE:
        said["page"] = render_to_string(template, dict(context), request)
    return JsonResponse(said)


def form_without_row(request: HttpRequest, page: str) -> HttpResponse:
    """Nothing is there for this form: on to `page`; for the queue a 404, so that it does not wait for ever."""
    if is_queued(request):
        raise Http404("nothing that this form is about")
    return redirect(page)


def form_errors(form: forms.BaseForm) -> list[str]:
    """What is wrong with a form, in words that stand alone."""
    return [
        f"{form.fields[name].label}: {text}" if name in form.fields else str(text)
        for name, texts in form.errors.items()
        for text in texts
    ]
