"""On the day: the availability, cars and their runs, and who is out and back."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.queued import filled_at, is_queued
from participants.versions import Stale
from trips.core.day.values import MOVED
from trips.documents.overdue import AT_ONCE
from trips.documents.wording.happenings import NOBODY_NAMED, refused_sentence
from trips.forms.cars import CarFormSet, RunsForm, StopForms
from trips.forms.day import REASONS, REASONS_ID, DayForm, TickForm, availability_forms
from trips.forms.stale import STALE
from trips.models import Session, Trip
from trips.selectors.day import hides_of, local_day, run_day, sessions_after
from trips.selectors.out_back import noted_about, outings
from trips.selectors.session import session_for
from trips.services.day import CarNameTaken, RunsChanged, availability_save, cars_save, runs_save, runs_seen
from trips.services.happenings import NotNoted, Said, happenings_note
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def day_show(request: HttpRequest, trip: Trip) -> HttpResponse:
    """One day: each session with its hides, the availability, who sits there and when which car leaves."""
    form = DayForm(request.GET)
    wanted = form.cleaned_data["day"] if form.is_valid() else None
    page = run_day(trip, wanted=wanted, now=timezone.now())
    return render(request, "trips/day_show.html", {"trip": trip, "page": page})


def _day_path(session: Session) -> str:
    return reverse("trips:day-show", args=[session.trip.uuid], query={"day": local_day(session).isoformat()})


@trip_page
@require_http_methods(["GET", "POST"])
def availability_edit(request: HttpRequest, trip: Trip, session_uuid: UUID) -> HttpResponse:
    """The availability of each hide in a session."""
    session = session_for(trip, session_uuid)
    says = availability_forms(session, hides_of(session), request.POST or None)
    stale = ""
    if request.method == "POST" and all(form.is_valid() for form in says):
        changed = [form for form in says if form.has_changed()]
        try:
            seen = [(form.save(commit=False), form.cleaned_data["seen_version"] or 0) for form in changed]
            availability_save(session=session, says=seen)
            messages.success(request, "The availability is saved.")
            return redirect(_day_path(session))
        except Stale:
            stale = STALE
    context: dict[str, Any] = {"trip": trip, "session": session, "says": says, "stale": stale}
    return render(request, "trips/availability_edit.html", context | {"reasons": REASONS, "reasons_id": REASONS_ID})


@trip_page
@require_http_methods(["GET", "POST"])
def cars_edit(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The trip's cars."""
    cars: Any = CarFormSet(request.POST or None, instance=trip, prefix="car")
    stale = ""
    if request.method == "POST" and cars.is_valid():
        try:
            cars_save(trip=trip, changed=cars.changed, deleted=cars.deleted)
            messages.success(request, "The cars are saved.")
            return redirect("trips:cars-edit", trip_uuid=trip.uuid)
        except Stale:
            stale = STALE
        except CarNameTaken as taken:
            stale = f"Somebody added a car named {taken.name} since you opened this. What you typed is still here."
    return render(request, "trips/cars_edit.html", {"trip": trip, "cars": cars, "stale": stale})


@trip_page
@require_http_methods(["GET", "POST"])
def runs_edit(request: HttpRequest, trip: Trip, session_uuid: UUID) -> HttpResponse:
    """Which car goes where in a session, in which order."""
    session = session_for(trip, session_uuid)
    cars = list(trip.cars.select_related("driver_place__participant", "driver_leader"))
    stops = StopForms(session, hides_of(session), cars, request.POST or None)
    form = RunsForm(request.POST or None, initial={"seen": runs_seen(session)})
    stale = ""
    if request.method == "POST" and all([form.is_valid(), stops.is_valid()]):
        also = sessions_after(session) if form.cleaned_data["later"] else []
        try:
            seen, drivers = form.cleaned_data["seen"], stops.driver_columns
            runs_save(session=session, stops=stops.stops, seen=seen, also=also, drivers=drivers)
            messages.success(request, "The rounds are saved; the cars leave by them.")
            return redirect(_day_path(session))
        except RunsChanged:
            stale = STALE
    context = {"trip": trip, "session": session, "stops": stops, "form": form, "cars": cars, "stale": stale}
    return render(request, "trips/runs_edit.html", context)


@trip_page
@require_safe
def out_show(request: HttpRequest, trip: Trip, session_uuid: UUID) -> HttpResponse:
    """Who is out in the hides and who is back, with the order of help when somebody is overdue."""
    session = session_for(trip, session_uuid)
    page = outings(trip, session, now=timezone.now())
    context = {"trip": trip, "session": session, "page": page, "at_once": AT_ONCE, "now": timezone.now()}
    template = "trips/out_show.html#who" if request.headers.get("HX-Request") else "trips/out_show.html"
    return render(request, template, context)


@trip_page
@require_POST
def out_tick(request: HttpRequest, trip: Trip, session_uuid: UUID) -> HttpResponse:
    """Note what happened to people or a hide at the moment of the tap; later, once, without a network."""
    now = timezone.now()
    session = session_for(trip, session_uuid)
    form = TickForm(request.POST, session=session)
    refused, filled = form.refusal, form.cleaned_data
    people, hide = noted_about(outings(trip, session, now=now).hides, filled.get("who", ()))
    if not refused and not people and hide is None:
        refused = NOBODY_NAMED
    if not refused:
        said = Said(filled["what"], filled_at(request, now), request.user, session, until_at=filled["until"])
        said = replace(said, hide=filled["hide"] if filled["what"] == MOVED else hide)
        try:
            happenings_note(trip=trip, people=people, said=said, now=now)
        except NotNoted as told:  # where it stands as wanted already, nothing is left to do
            is_fine = is_queued(request) and told.stands_already
            refused = "" if is_fine else refused_sentence(told, session.site.time_zone)
    return _ticked(request, session, refused)


def _ticked(request: HttpRequest, session: Session, refused: str) -> HttpResponse:
    """The answer to a tick: in JSON for the queue, else the page again."""
    if is_queued(request):
        return JsonResponse({"taken": not refused, "errors": [refused] if refused else []})
    if refused:
        messages.warning(request, refused)
    return redirect("trips:out-show", trip_uuid=session.trip.uuid, session_uuid=session.uuid)
