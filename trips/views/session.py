"""Sessions: made from rules beside the sun's times, then edited one by one."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.core.errors import CoreError
from participants.versions import Stale
from trips.assemble import point_value
from trips.core.session_rules import ProposedSession, propose_all
from trips.documents.wording.sessions import session_refusal
from trips.forms.session import RULE_DEFAULTS, ChosenForm, DaysForm, RuleFormSet, SessionForm
from trips.forms.stale import STALE, seen_version
from trips.models import Session, Trip
from trips.selectors.session import session_days, session_for, session_offers
from trips.services.session import (
    SessionInUse,
    SessionsOverlap,
    session_create,
    session_delete,
    session_update,
    sessions_create,
)
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def session_list(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The trip's sessions day by day, beside the sun's times."""
    return render(request, "trips/session_list.html", {"trip": trip, "days": session_days(trip)})


def _proposed(days: DaysForm, rules: Any) -> list[ProposedSession]:
    """What the rules make; a refusal becomes an error of the form."""
    chosen = tuple(form.rule for form in rules if form.cleaned_data.get("use"))
    if not chosen:
        days.add_error(None, "Tick “Make these” in at least one rule.")
    try:
        return propose_all(chosen, point_value(days.cleaned_data["site"]), days.days)
    except CoreError as refused:
        days.add_error(None, session_refusal(refused))
        return []


def _saved(
    request: HttpRequest, trip: Trip, days: DaysForm, chosen: ChosenForm, proposed: list[ProposedSession]
) -> bool:
    """Whether the ticked sessions are saved; otherwise the form says why not."""
    picked = [proposed[number] for number in chosen.ticked]
    try:
        made = sessions_create(trip=trip, site=days.cleaned_data["site"], proposed=picked)
    except CoreError as refused:
        days.add_error(None, session_refusal(refused))
        return False
    left = len(picked) - len(made)
    told = f" {left} stood there already and {'was' if left == 1 else 'were'} left alone." if left else ""
    messages.success(request, f"{len(made)} session{'' if len(made) == 1 else 's'} saved.{told}")
    return True


@trip_page
@require_http_methods(["GET", "POST"])
def sessions_make(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Rules first, then what they make beside the sun's times, then saved."""
    days = DaysForm(request.POST or None, trip=trip)
    rules = RuleFormSet(request.POST or None, initial=RULE_DEFAULTS, prefix="rule")
    context: dict[str, Any] = {"trip": trip, "days": days, "rules": rules}
    if request.method == "POST" and all([days.is_valid(), rules.is_valid()]):
        proposed, saving = _proposed(days, rules), request.POST.get("step") == "save"
        chosen = ChosenForm(request.POST, count=len(proposed))
        if proposed and saving and not chosen.is_valid():
            days.add_error(None, chosen.errors["chosen"])
        elif proposed and saving and _saved(request, trip, days, chosen, proposed):
            return redirect("trips:session-list", trip_uuid=trip.uuid)
        ticked = chosen.ticked if saving else None
        context["offers"] = session_offers(trip, days.cleaned_data["site"], proposed, ticked)
    return render(request, "trips/sessions_make.html", context)


@trip_page
@require_http_methods(["GET", "POST"])
def session_new(request: HttpRequest, trip: Trip) -> HttpResponse:
    """One session by hand."""
    form = SessionForm(request.POST or None, trip=trip)
    if request.method == "POST" and form.is_valid():
        try:
            session_create(session=form.save(commit=False))
            messages.success(request, "The session is saved.")
            return redirect("trips:session-list", trip_uuid=trip.uuid)
        except SessionsOverlap as refused:
            form.add_error(None, session_refusal(refused))
    return render(request, "trips/session_edit.html", {"trip": trip, "form": form})


@trip_page
@require_http_methods(["GET", "POST"])
def session_edit(request: HttpRequest, trip: Trip, session_uuid: UUID) -> HttpResponse:
    """Change one session."""
    session: Session = session_for(trip, session_uuid)
    seen = session.version
    form = SessionForm(request.POST or None, instance=session, trip=trip)
    if request.method == "POST" and form.is_valid():
        try:
            session_update(session=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, "The session is saved. A rota made before it keeps the old hours until checked.")
            return redirect("trips:session-list", trip_uuid=trip.uuid)
        except Stale:
            form.add_error(None, STALE)
        except SessionsOverlap as refused:
            form.add_error(None, session_refusal(refused))
    context = {"trip": trip, "form": form, "session": session, "seen": seen}
    return render(request, "trips/session_edit.html", context)


@trip_page
@require_POST
def session_remove(request: HttpRequest, trip: Trip, session_uuid: UUID) -> HttpResponse:
    """Delete a session that no rota uses."""
    try:
        session_delete(session=session_for(trip, session_uuid))
        messages.success(request, "The session is deleted.")
    except SessionInUse as refused:
        messages.error(request, session_refusal(refused))
    return redirect("trips:session-list", trip_uuid=trip.uuid)
