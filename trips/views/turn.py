"""Changing a draft by hand: the effect first, then confirmed; pins; undo. Drag-and-drop leads to the same form."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.core.errors import CoreError
from trips.assemble import trip_values
from trips.assemble.loans import loans_at
from trips.assemble.why_cannot_sit import trip_names
from trips.documents.wording.effect import broken_rules, effect_sentences, still_to_mend
from trips.documents.wording.rota_refusals import rota_refusal
from trips.forms.rota import EditForm
from trips.forms.stale import seen_version
from trips.models import Place, Rota, Trip
from trips.selectors.person import place_for
from trips.selectors.rota import change_for, drop_asked, rota_for, turn_cell, turn_reasons, turn_words
from trips.selectors.session import session_for
from trips.selectors.turn_options import turn_options
from trips.services.pin import is_of_pin, pin_undo, turn_pin, turn_unpin
from trips.services.turn import change_undo, edit_preview, edit_save
from trips.views.trip_page import trip_page

LEADER = "leader"


def _preview(rota: Rota, form: EditForm) -> dict[str, Any]:
    """What the change would do, or why it cannot be done."""
    try:
        found = edit_preview(rota=rota, edit=form.edit)
    except CoreError as refused:
        form.add_error(None, rota_refusal(refused))
        return {}
    names = trip_names(found.inputs)
    return {
        "effect": effect_sentences(found.effect, found.before, names),
        "broken": broken_rules(found.effect, names),
        "mend": still_to_mend(found.effect, names),
    }


@trip_page
@require_http_methods(["GET", "POST"])
def turn_edit(request: HttpRequest, trip: Trip, number: int, session_uuid: UUID, who: str) -> HttpResponse:
    """Change one person's turn in one session of a draft."""
    rota = rota_for(trip, number)
    place: Place | None = None if who == LEADER else place_for(trip, who)
    session = session_for(trip, session_uuid)
    asked = request.POST or (drop_asked(rota, session, request.GET.dict()) if request.GET else None)
    form = EditForm(asked, rota=rota, session=session, place=place)
    context: dict[str, Any] = {"trip": trip, "rota": rota, "place": place, "session": session, "form": form, "who": who}
    context |= {"seen": rota.version, "now": turn_words(rota, session, place)}
    if form.is_bound and form.is_valid():
        if request.method == "POST" and request.POST.get("step") == "save" and _saved(request, rota, form):
            return redirect("trips:rota-number", trip.uuid, number)
        if not form.errors:
            context |= _preview(rota, form)
    return render(request, "trips/turn_edit.html", context)


def _saved(request: HttpRequest, rota: Rota, form: EditForm) -> bool:
    """Whether the change is saved; otherwise the form says why not."""
    try:
        seen, why = seen_version(request.POST), form.cleaned_data["why"]
        edit_save(rota=rota, edit=form.edit, by=request.user, now=timezone.now(), why=why, seen_version=seen)
    except CoreError as refused:
        form.add_error(None, rota_refusal(refused))
        return False
    messages.success(request, "Changed. It can be undone below, as long as nothing else is changed.")
    return True


@trip_page
@require_safe
def turn_why_show(request: HttpRequest, trip: Trip, number: int, session_uuid: UUID, who: str) -> HttpResponse:
    """Why somebody sits there: light, reach, wish, rule."""
    rota = rota_for(trip, number)
    place: Place | None = None if who == LEADER else place_for(trip, who)
    session = session_for(trip, session_uuid)
    why, for_leaders = turn_reasons(rota, session, place)
    context: dict[str, Any] = {"trip": trip, "rota": rota, "place": place, "session": session, "why": why}
    context |= {
        "for_leaders": for_leaders,
        "now": turn_words(rota, session, place),
        "cell": turn_cell(rota, session, place),
        "who": who,
    }
    part = "#why" if request.htmx else ""  # type: ignore[attr-defined]
    if place is not None and not part:
        context["options"] = turn_options(rota, session, place)
    if place is not None and context["cell"]["seated"] and not part and session.ends_at > timezone.now():
        context["loans"] = loans_at(trip_values(trip), place, str(session.uuid), context["cell"]["hide"])
    return render(request, f"trips/turn_why.html{part}", context)


@trip_page
@require_POST
def turn_pin_set(request: HttpRequest, trip: Trip, number: int, session_uuid: UUID, who: str) -> HttpResponse:
    """Fix a turn for all later plans, or let it go again."""
    rota = rota_for(trip, number)
    place = None if who == LEADER else place_for(trip, who)
    turns = rota.turns.filter(session__uuid=session_uuid, place=place)
    turn = turns.select_related("rota__trip", "session__site").first()
    if turn is None:
        raise Http404("no such turn")
    try:
        if request.POST.get("pin") == "off":
            turn_unpin(turn=turn, by=request.user, now=timezone.now())
            messages.success(request, "The pin is off: later plans may move this turn.")
        else:
            turn_pin(turn=turn, by=request.user, now=timezone.now())
            messages.success(request, "Pinned: every later plan keeps this turn.")
    except CoreError as refused:
        messages.error(request, rota_refusal(refused))
    return redirect("trips:rota-number", trip.uuid, number)


@trip_page
@require_POST
def turn_undo(request: HttpRequest, trip: Trip, number: int, change_uuid: UUID) -> HttpResponse:
    """Put the draft back to how it was before a change."""
    rota = rota_for(trip, number)
    try:
        change = change_for(rota, change_uuid)
        undo = pin_undo if is_of_pin(change) else change_undo
        undo(change=change, by=request.user, now=timezone.now())
        messages.success(request, "Undone.")
    except CoreError as refused:
        messages.error(request, rota_refusal(refused))
    return redirect("trips:rota-number", trip.uuid, number)
