"""The rota: shown, made, explained, issued, compared."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.core.errors import CoreError
from trips.assemble.rota_result import stored_rota
from trips.documents.wording.rota import issued_sentence
from trips.documents.wording.rota_refusals import rota_refusal, stop_sentence
from trips.forms.rota import CompareForm, MakeForm
from trips.forms.stale import seen_version
from trips.models import Issue, RotaState, Trip
from trips.selectors.making import last_making, making_for, making_panel
from trips.selectors.person import trip_zone
from trips.selectors.rota import (
    changed_since,
    changes_of,
    changes_since,
    last_standing,
    rota_for,
    rota_newest,
    rotas_of,
)
from trips.selectors.rota_compare import beside, differences
from trips.selectors.rota_glance import Asked
from trips.selectors.rota_page import rota_page, undriven_ahead
from trips.selectors.rota_verdict import broken_sentences, rota_checked
from trips.selectors.told import told_by_leader_count
from trips.services.issue_payload import who_is_told
from trips.services.making import making_cancel, making_start
from trips.services.remedy import making_remedy
from trips.services.rota import rota_follow, rota_issue, rota_retire
from trips.views.trip_page import trip_page


@trip_page
@require_safe
def rota_show(request: HttpRequest, trip: Trip, number: int | None = None) -> HttpResponse:
    """People or hides by sessions, each with counts and shares; what the plan guarantees."""
    rota = rota_newest(trip) if number is None else rota_for(trip, number)
    now = timezone.now()
    context: dict[str, Any] = {"trip": trip, "rota": rota, "panel": making_panel(last_making(trip), now)}
    if rota is not None:
        asked = {name: value for name, value in request.GET.dict().items() if name in ("rows", "session", "follow")}
        page, changes = rota_page(rota, Asked(now, **asked)), changes_of(rota)
        context |= {"page": page, "changes": changes, "undo_next": last_standing(changes), "zone": page.zone}
        context["changed"], context["drives_changed"] = changes_since(rota)
        # One address for all turns: a large rota has a thousand links below it.
        context["turns_at"] = reverse("trips:rota-number", args=[trip.uuid, rota.number]) + "turn/"
    return render(request, "trips/rota_show.html", context)


@trip_page
@require_safe
def rota_broken(request: HttpRequest, trip: Trip, number: int) -> HttpResponse:
    """Which rules a rota breaks by now, with the way to repair it; pages whose rota is stale ask for that part."""
    rota = rota_for(trip, number)
    if rota.state == RotaState.RETIRED:
        raise Http404("no longer in force")
    context = {"trip": trip, "rota": rota, "sentences": broken_sentences(rota, now=timezone.now())}
    part = "#card" if request.htmx else ""  # type: ignore[attr-defined]
    return render(request, f"trips/rota_broken.html{part}", context)


@trip_page
@require_http_methods(["GET", "POST"])
def rota_make(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Start a run of the planner, or come to the one under way."""
    issued = trip.rotas.filter(state=RotaState.ISSUED).exists()
    form = MakeForm(request.POST or None, trip=trip, issued=issued)
    if request.method == "POST" and form.is_valid():
        try:
            making_start(trip=trip, wanted=form.wanted, by=request.user, now=timezone.now())
            return redirect("trips:rota-making", trip_uuid=trip.uuid)
        except CoreError as refused:
            form.add_error(None, rota_refusal(refused))
    return render(request, "trips/rota_make.html", {"trip": trip, "form": form})


@trip_page
@require_safe
def rota_making(request: HttpRequest, trip: Trip) -> HttpResponse:
    """How far the run is; htmx asks for the part alone, and is led to the page of the end when it has ended."""
    panel = making_panel(last_making(trip), timezone.now())
    if request.htmx and panel is not None and not panel.is_active:  # type: ignore[attr-defined]
        response = HttpResponse()
        made = panel.making.rota
        ended = (
            redirect("trips:rota-number", trip.uuid, made.number) if made else redirect("trips:rota-making", trip.uuid)
        )
        response["HX-Redirect"] = ended["Location"]
        return response
    part = "#panel" if request.htmx else ""  # type: ignore[attr-defined]
    return render(request, f"trips/rota_making.html{part}", {"trip": trip, "panel": panel})


@trip_page
@require_POST
def rota_stop(request: HttpRequest, trip: Trip, making_uuid: UUID) -> HttpResponse:
    """Stop the run; it keeps its best plan if it has one."""
    making = making_cancel(making=making_for(trip, making_uuid), now=timezone.now())
    messages.info(request, stop_sentence(making.state, has_begun=making.heartbeat_at is not None))
    return redirect("trips:rota-making", trip_uuid=trip.uuid)


@trip_page
@require_POST
def remedy_take(request: HttpRequest, trip: Trip, making_uuid: UUID, number: int) -> HttpResponse:
    """Carry out what would help, and plan again."""
    making = making_for(trip, making_uuid)
    try:
        done = making_remedy(making=making, number=number, by=request.user, now=timezone.now())
        messages.success(request, f"{done} Planning again.")
    except CoreError as refused:
        messages.error(request, rota_refusal(refused))
    return redirect("trips:rota-making", trip_uuid=trip.uuid)


@trip_page
@require_http_methods(["GET", "POST"])
def rota_issue_confirm(request: HttpRequest, trip: Trip, number: int) -> HttpResponse:
    """Who will be told what; then revealed to everybody at one moment."""
    rota = rota_for(trip, number)
    refusal = ""
    if request.method == "POST":
        try:
            seen = seen_version(request.POST)
            issue = rota_issue(rota=rota, by=request.user, now=timezone.now(), seen_version=seen)
            messages.success(request, _issued(trip, issue))
            return redirect("trips:rota-number", trip.uuid, number)
        except CoreError as refused:
            refusal = rota_refusal(refused)
    stored, now = stored_rota(rota), timezone.now()
    told = who_is_told(rota, now) if rota.state == RotaState.DRAFT else []
    context = {"trip": trip, "rota": rota, "told": told, "refusal": refusal, "changed": changed_since(rota)}
    context |= {"zone": trip_zone(trip), "is_current": stored.is_current}
    against = () if refusal or rota.state != RotaState.DRAFT else rota_checked(stored).sentences
    context |= {"undriven": undriven_ahead(rota, stored.inputs.values, now), "against": against}
    return render(request, "trips/rota_issue_confirm.html", context)


@trip_page
@require_POST
def rota_change_day(request: HttpRequest, trip: Trip, number: int) -> HttpResponse:
    """A draft that begins as the issued rota stands, to be changed by hand, or issued as it is."""
    try:
        draft = rota_follow(rota=rota_for(trip, number), by=request.user, now=timezone.now())
    except CoreError as refused:
        messages.error(request, rota_refusal(refused))
        return redirect("trips:rota-number", trip.uuid, number)
    messages.success(
        request, f"Rota {draft.number} begins as a copy of rota {number}. Nobody is told until you issue it."
    )
    then = "trips:rota-issue" if request.POST.get("then") == "issue" else "trips:rota-number"
    return redirect(then, trip.uuid, draft.number)


@trip_page
@require_POST
def rota_withdraw(request: HttpRequest, trip: Trip, number: int) -> HttpResponse:
    """Take an issued rota out of force."""
    rota = rota_for(trip, number)
    try:
        rota_retire(rota=rota, seen_version=seen_version(request.POST))
        messages.success(request, f"Rota {number} is no longer in force.")
    except CoreError as refused:
        messages.error(request, rota_refusal(refused))
    return redirect("trips:rota-number", trip.uuid, number)


@trip_page
@require_safe
def rota_history(request: HttpRequest, trip: Trip) -> HttpResponse:
    """All drafts and issues with how they were made; two of them side by side."""
    rotas = rotas_of(trip)
    numbers = [rota.number for rota in rotas]
    form = CompareForm(request.GET or None, numbers=numbers)
    context: dict[str, Any] = {"trip": trip, "rotas": rotas, "form": form, "zone": trip_zone(trip)}
    if form.is_bound and form.is_valid():
        left, right = (rota_for(trip, form.cleaned_data[name]) for name in ("left", "right"))
        context |= {"left": left, "right": right, "differences": differences(left, right)}
        context["lines"] = beside(left, right, zone=context["zone"])
    return render(request, "trips/rota_history.html", context)


def _issued(trip: Trip, issue: Issue) -> SafeString:
    """What the leader reads after an issue: whom they must tell, and where to tick it."""
    sentence = issued_sentence(issue.rota.number, *told_by_leader_count(issue))
    return format_html('{} <a href="{}">Who was told</a>', sentence, reverse("trips:told-list", args=[trip.uuid]))
