"""A participant's briefing and calendar."""

import re
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from participants.access import PersonRequest, kept_page, person_page
from participants.core.language import gettext as _
from trips.documents.ical import CONTENT_TYPE
from trips.documents.safety import DEFERS, SOURCES_NOTE
from trips.documents.scripts import NoFont, PaperFailed
from trips.documents.wording.papers import own_paper_fault
from trips.services.calendars import CalendarOf, calendar_bytes, feed_address, feed_address_replace
from trips.services.my_briefing import my_briefing, my_briefing_pdf
from trips.services.pdf import PAGE_SIZES
from trips.views.my_place import place_shown

FEED = "feed_person"


@require_safe
@person_page
def my_briefing_show(request: PersonRequest) -> HttpResponse:
    """How to get there, what to bring, how to behave, what can hurt, whom to call."""
    place = place_shown(request)
    if place is None:
        return redirect("trips:my-start", person_uuid=request.person.uuid)
    paper = my_briefing(place=place, now=timezone.now())
    context = {"place": place, "paper": paper, "defers": _(DEFERS), "sources_note": _(SOURCES_NOTE)}
    return render(request, "trips/my_briefing.html", context)


@require_safe
@person_page
def my_briefing_file(request: PersonRequest) -> HttpResponse:
    """The briefing as PDF; back to its page with a sentence where it cannot be printed."""
    place = place_shown(request)
    if place is None:
        raise Http404("no trip of this person's")
    asked = request.GET.get("size", "")
    size = asked if asked in PAGE_SIZES else "A4"
    try:
        pdf = my_briefing_pdf(place=place, now=timezone.now(), page_size=size)
    except (NoFont, PaperFailed) as failed:
        messages.error(request, own_paper_fault(failed))
        return redirect(f"{reverse('trips:my-briefing', args=[request.person.uuid])}?trip={place.trip.uuid}")
    if pdf is None:
        raise Http404("nothing was issued yet")
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = 'inline; filename="briefing.pdf"'
    return response


@require_safe
@person_page
def my_calendar(request: PersonRequest) -> HttpResponse:
    """Subscribe, download, or have a new address. The address has all trips of the person: no co-leader sees it."""
    context: dict[str, Any] = {"place": place_shown(request)}
    if request.is_kept:
        address = feed_address(kind=FEED, owner_uuid=request.person.uuid)
        context |= {"address": address, "webcal": re.sub(r"^https?:", "webcal:", address)}
    return render(request, "trips/my_calendar.html", context)


@require_safe
@person_page
def my_calendar_file(request: PersonRequest) -> HttpResponse:
    """The calendar of one trip as a file."""
    place = place_shown(request)
    if place is None:
        raise Http404("no trip")
    response = HttpResponse(calendar_bytes(CalendarOf(place.trip, place=place)), content_type=CONTENT_TYPE)
    response.headers["Content-Disposition"] = 'attachment; filename="my-turns.ics"'
    return response


@require_POST
@kept_page
def my_calendar_replace(request: PersonRequest) -> HttpResponse:
    """A new address; the old one is gone at once."""
    feed_address_replace(kind=FEED, owner_uuid=request.person.uuid)
    messages.success(request, _("The old address is gone. Subscribe to the new one."))
    return redirect(reverse("trips:my-calendar", args=[request.person.uuid], query=request.GET or None))
