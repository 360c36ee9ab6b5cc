"""Forms taken once, however often they arrive; and those a phone sends later, answered in JSON instead of a page.

Every form of a page names itself (`{% csrf_token %}` of templatetags/once_only, a new uuid with each drawing of the
page), and a phone names each form that it keeps. The first arrival is answered by the view, and its answer is stored in
the same transaction; a second one gets that answer and writes nothing.
"""

import json
import uuid
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import partial, wraps
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.messages import get_messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils import timezone

from participants.access import person_of
from participants.models import Submission
from participants.versions import Stale

QUEUED_HEADER = "X-Queued"
AT_ONCE = "now"
WAITED_HEADER = "X-Queued-Seconds"
LONGEST_WAIT_S = 30 * 86400  # longer than any trip: what claims more has a broken clock
FORM_UUID = "form_uuid"
LOOKS = ("show", "draw", "gpx")  # steps of a form that save nothing, and may take their time
PAGES = "page"  # the kind of a form that a page named
PAGES_KEPT = timedelta(days=1)  # as long as a second press of one page is known for one
TWICE = "Done at your first press. The second changed nothing."
# What a form that fits the rows it saw meets when others were saved since: by the database, a version, a last look.
LOST_A_RACE = (IntegrityError, Stale, ValidationError)
View = Callable[..., HttpResponseBase]


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


def row_uuid(request: HttpRequest) -> uuid.UUID | None:
    """The uuid the phone gave the new row that this form makes, the same however often the form is changed and sent."""
    return _posted_uuid(request, "row_uuid")


def _posted_uuid(request: HttpRequest, name: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(request.POST.get(name, ""))
    except ValueError:
        return None


def taken_once(view: View) -> View:
    """A view whose form is taken once; one that lost a race is asked again, and finds the winner's rows.

    All views of `trips` are so by `TakenOnce`; those that read their upload themselves are decorated.
    """

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        work = partial(view, request, *args, **kwargs)
        if request.method != "POST":
            return work()
        try:
            return _taken(request, work)
        except LOST_A_RACE:
            for _, file in _files(request):
                file.seek(0)
            return _taken(request, work)

    return answer


class TakenOnce:
    """The middleware that takes every form once; the last one, as it calls the view itself."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: View, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponseBase | None:
        if request.method != "POST" or getattr(view, "csrf_exempt", False):
            return None
        return taken_once(view)(request, *args, **kwargs)


def _taken(request: HttpRequest, work: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    key, kind = _form_key(request)
    if key is None:
        return work()
    with transaction.atomic():
        now = timezone.now()
        first = {"participant": person_of(request), "kind": kind, "taken_at": now}
        form, is_first = Submission.objects.get_or_create(client_uuid=key, defaults=first)
        if not is_first:
            return _answer_before(request, form.answer)
        response = work()
        form.answer = _answer_kept(request, response)
        if form.answer:
            form.save()
            Submission.objects.filter(kind=PAGES, taken_at__lt=now - PAGES_KEPT).delete()
        else:
            form.delete()
    return response


def _form_key(request: HttpRequest) -> tuple[uuid.UUID | None, str]:
    """What a form is known by, and its kind; None where it is no form of somebody's, or only asks for a drawing.

    Of a page's form it holds who sends what where as well: a page opened again by "back" and filled otherwise makes
    another row.
    """
    match = request.resolver_match
    if match is None or match.namespace != "trips" or "HX-Request" in request.headers:
        return None, ""
    if request.POST.get("step") in LOOKS:
        return None, ""
    kept, page = _posted_uuid(request, "client_uuid"), _posted_uuid(request, FORM_UUID)
    person = person_of(request) if kept or page else None
    who = person.uuid if person else request.user.pk
    if who is None or kept is not None:
        return (kept if who else None), match.url_name or ""
    if page is None:
        return None, ""
    typed = sorted((name, texts) for name, texts in request.POST.lists() if name != "csrfmiddlewaretoken")
    files = [(name, file.name, file.size) for name, file in _files(request)]
    return uuid.uuid5(page, repr((str(who), request.get_full_path(), typed, files))), PAGES


def _files(request: HttpRequest) -> list[tuple[str, Any]]:
    return [(name, file) for name, files in request.FILES.lists() for file in files]


def _answer_kept(request: HttpRequest, response: HttpResponseBase) -> dict[str, Any]:
    """What is stored of the answer to a form that was taken; empty where it was not, so that it may come again."""
    if isinstance(response, JsonResponse):
        said: dict[str, Any] = json.loads(response.content)
        return said if said.get("taken") else {}
    told = getattr(get_messages(request), "_queued_messages", ())
    refused = any(message.level >= messages.WARNING for message in told)
    return {"next": response.headers["Location"]} if "Location" in response.headers and not refused else {}


def _answer_before(request: HttpRequest, kept: dict[str, Any]) -> HttpResponse:
    """The first answer once more; rows of long ago hold none."""
    if request.headers.get(QUEUED_HEADER, AT_ONCE) == AT_ONCE:
        messages.success(request, TWICE)
    if is_queued(request):
        return JsonResponse({"taken": True} | kept)
    return redirect(kept.get("next", request.get_full_path()))


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
