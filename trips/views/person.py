"""The people of a trip, as their leader keeps them."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.versions import Stale, row_update
from trips.documents.wording.rota import SeatsAhead, left_sentence, seats_ahead_sentence
from trips.forms.person import AbsencesForm, PairingForm, PersonAddForm, PersonForm, PersonNewForm, PlaceForm
from trips.forms.stale import STALE, fields_mark, seen_version
from trips.models import ON_TRIP, Place, PlaceState
from trips.selectors.messages import messages_open
from trips.selectors.person import (
    any_sessions,
    anybody_elsewhere,
    own_trip_for,
    pairing_for,
    pairings_of,
    person_lines,
    place_for,
    seats_ahead,
)
from trips.selectors.trip import trip_for
from trips.services.person import (
    PlaceInUse,
    absences_set,
    pairing_create,
    pairing_remove,
    person_add,
    person_create,
    place_remove,
    places_confirm,
)


@login_required
@require_safe
def person_list(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """Everybody on the trip and what is still missing."""
    trip = trip_for(request.user, trip_uuid)
    add = PersonAddForm(trip=trip, asker=request.user) if anybody_elsewhere(request.user, trip) else None
    lines = person_lines(trip)
    invited = sum(line.place.state == PlaceState.INVITED for line in lines)
    context = {"trip": trip, "lines": lines, "add": add, "invited": invited, "messages_open": messages_open(trip)}
    return render(request, "trips/person_list.html", context)


@login_required
@require_POST
def people_confirm(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """Everybody who is invited comes for certain, by one press."""
    trip = trip_for(request.user, trip_uuid)
    count = places_confirm(trip=trip)
    messages.success(request, f"{count} confirmed." if count else "Nobody is invited who is not confirmed.")
    return redirect("trips:person-list", trip_uuid=trip.uuid)


@login_required
@require_http_methods(["GET", "POST"])
def person_new(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """A new person; only the name is required."""
    trip = trip_for(request.user, trip_uuid)
    form = PersonNewForm(request.POST or None, asker=request.user)
    if request.method == "POST" and form.is_valid():
        place = person_create(trip=trip, person=form.save(commit=False), state=form.cleaned_data["state"])
        messages.success(request, _where(place))
        return redirect("trips:person-edit", trip_uuid=trip_uuid, place_uuid=place.uuid)
    return render(request, "trips/person_new.html", {"trip": trip, "form": form})


def _where(place: Place) -> str:
    """Whether the person is on the trip, waits or is cancelled."""
    return f"{place.participant.name} is {_state(place)}."


def _seats_told(place: Place, seats: SeatsAhead) -> str:
    """What an issued rota says of somebody: before they are taken off the trip, or that it still seats them."""
    name = place.participant.name
    on_trip = place.state in ON_TRIP
    return seats_ahead_sentence(name, seats) if on_trip else left_sentence(name, _state(place), seats)


def _state(place: Place) -> str:
    return "on the trip" if place.state in ON_TRIP else str(place.get_state_display())


@login_required
@require_POST
def person_join(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """A place for somebody from another trip, given by their own leader."""
    trip = own_trip_for(request.user, trip_uuid)
    form = PersonAddForm(request.POST, trip=trip, asker=request.user)
    if form.is_valid():
        place = person_add(trip=trip, person=form.cleaned_data["participant"])
        messages.success(request, _where(place))
    else:
        messages.error(request, "Choose somebody from the list first.")
    return redirect("trips:person-list", trip_uuid=trip_uuid)


@login_required
@require_http_methods(["GET", "POST"])
def person_edit(request: HttpRequest, trip_uuid: UUID, place_uuid: UUID) -> HttpResponse:
    """Who somebody is and how they are reached."""
    trip = trip_for(request.user, trip_uuid)
    place = place_for(trip, place_uuid)
    person = place.participant
    form = PersonForm(request.POST or None, instance=person, asker=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            row_update(row=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "Saved.")
            return redirect("trips:person-list", trip_uuid=trip_uuid)
        except Stale:
            form.add_error(None, STALE)
    return _person_page(request, place, form, AbsencesForm(place=place) if any_sessions(trip) else None)


def _person_page(
    request: HttpRequest, place: Place, form: PersonForm, absences: AbsencesForm | None = None
) -> HttpResponse:
    """The page with both forms, each with what it is saved against."""
    context = {"trip": place.trip, "place": place, "form": form, "seen": place.participant.version}
    context["is_kept"] = place.participant.leader == request.user
    context |= {"absences": absences, "absences_seen": fields_mark(absences) if absences else ""}
    return render(request, "trips/person_edit.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def place_edit(request: HttpRequest, trip_uuid: UUID, place_uuid: UUID) -> HttpResponse:
    """The person's place: state, arrival and leaving, whom they help."""
    trip = trip_for(request.user, trip_uuid)
    place = place_for(trip, place_uuid)
    seen, name, seats = place.version, place.participant.name, seats_ahead(place, timezone.now())
    form = PlaceForm(request.POST or None, instance=place, trip=trip)
    if request.method == "POST" and form.is_valid():
        try:
            row_update(row=form.save(commit=False), seen_version=seen_version(request.POST))
            left = "state" in form.changed_data and place.state not in ON_TRIP
            messages.success(request, left_sentence(name, _state(place), seats) if left else "Saved.")
            return redirect("trips:person-list", trip_uuid=trip_uuid)
        except Stale:
            form.add_error(None, STALE)
    context = {"trip": trip, "place": place, "form": form, "seen": seen}
    context["warning"] = _seats_told(place, seats) if seats else ""
    return render(request, "trips/place_edit.html", context)


@login_required
@require_POST
def absences_edit(request: HttpRequest, trip_uuid: UUID, place_uuid: UUID) -> HttpResponse:
    """Which sessions the person is not there for."""
    trip = trip_for(request.user, trip_uuid)
    place = place_for(trip, place_uuid)
    form = AbsencesForm(request.POST, place=place)
    alike = request.POST.get("seen_fields") == fields_mark(form)
    if form.is_valid():
        try:
            chosen, seen = list(form.cleaned_data["sessions"]), form.initial["sessions"] if alike else None
            absences_set(place=place, sessions=chosen, seen=seen)
            messages.success(request, "The absences are saved.")
            return redirect("trips:person-edit", trip_uuid=trip_uuid, place_uuid=place_uuid)
        except Stale:
            form.add_error(None, STALE)
    return _person_page(request, place, PersonForm(instance=place.participant, asker=request.user), form)


@login_required
@require_POST
def person_remove(request: HttpRequest, trip_uuid: UUID, place_uuid: UUID) -> HttpResponse:
    """Take somebody off the trip; where a rota names them the place is kept and can be cancelled."""
    place = place_for(trip_for(request.user, trip_uuid), place_uuid)
    name = place.participant.name
    try:
        place_remove(place=place)
        messages.success(request, f"{name} is off the trip. Everything else about them stays.")
    except PlaceInUse as refused:
        rotas = ", ".join(str(number) for number in refused.rotas)
        messages.error(request, f"Rota {rotas} names {name}, and rotas are kept. Set the place to “cancelled” instead.")
    return redirect("trips:person-list", trip_uuid=trip_uuid)


@login_required
@cache_control(private=True, no_store=True)
@require_http_methods(["GET", "POST"])
def pairing_list(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """Who sits together or apart. Confidential."""
    trip = trip_for(request.user, trip_uuid)
    form = PairingForm(request.POST or None, trip=trip)
    if request.method == "POST" and form.is_valid():
        pairing_create(trip=trip, pairing=form.save(commit=False))
        messages.success(request, "The pairing is saved. Only leaders see it.")
        return redirect("trips:pairing-list", trip_uuid=trip_uuid)
    context = {"trip": trip, "form": form, "pairings": pairings_of(trip)}
    return render(request, "trips/pairing_list.html", context)


@login_required
@require_POST
def pairing_delete(request: HttpRequest, trip_uuid: UUID, pairing_uuid: UUID) -> HttpResponse:
    """Take a pairing back."""
    trip = trip_for(request.user, trip_uuid)
    pairing_remove(pairing=pairing_for(trip, pairing_uuid))
    messages.success(request, "The pairing is gone.")
    return redirect("trips:pairing-list", trip_uuid=trip_uuid)
