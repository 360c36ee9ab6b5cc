"""The day board: what is true now, and the sheets that change it in three presses."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.core.errors import CoreError
from trips.documents.wording.board import board_refusal, changed_sentence, phone_sentence, tell_sentence
from trips.documents.wording.rota import issued_sentence
from trips.documents.wording.rota_refusals import rota_refusal
from trips.forms.board import BoardForm
from trips.forms.rota import REPAIRS
from trips.forms.stale import seen_version
from trips.models import Issue, RotaState, Trip
from trips.selectors import board_confirm as confirms
from trips.selectors.board import board
from trips.selectors.board_moves import moves_for
from trips.selectors.board_sheets import KINDS, sessions_ahead, sheet
from trips.selectors.day_state import happening_for
from trips.selectors.making import last_making, making_panel
from trips.selectors.messages import message_for, sheet_of
from trips.selectors.person import trip_zone
from trips.selectors.rota import issued_stale, rota_for
from trips.selectors.told import told_by_leader_count
from trips.services import board as services
from trips.services.happenings import happening_undo
from trips.services.messages import message_answer
from trips.services.rota import rota_issue
from trips.views.trip_page import trip_page

KINDS_OF_REPAIR = (*(kind for kind, _ in REPAIRS if kind), services.BACK)


@trip_page
@require_safe
def board_show(request: HttpRequest, trip: Trip) -> HttpResponse:
    """What comes next, when which car leaves, who is where; htmx asks for that part alone."""
    part = "#now" if request.headers.get("HX-Request") else ""
    page = board(trip, now=timezone.now())
    context = {"trip": trip, "page": page, "kinds": KINDS, "stale": None if part else issued_stale(trip)}
    return render(request, f"trips/board_show.html{part}", context)


@trip_page
@require_safe
def board_sheet(request: HttpRequest, trip: Trip, kind: str) -> HttpResponse:
    """One of the six sheets: what can be changed, each by one press."""
    if kind not in KINDS:
        raise Http404("no such sheet")
    page = sheet(trip, kind, one=request.GET.get("one", ""), now=timezone.now())
    context = {"trip": trip, "page": page, "part": f"trips/_sheet_{kind}.html", "until": request.GET.get("until", "")}
    return render(request, "trips/board_sheet.html", context)


@trip_page
@require_POST
def board_change(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Note what was pressed, then lead on: to moves, to the repair, to what is to be issued, or to the board."""
    now = timezone.now()
    form = BoardForm(request.POST, trip=trip, now=now, by=request.user)
    back = redirect("trips:board-show", trip.uuid)
    if not form.is_valid():
        messages.error(request, form.refusal)
        return back
    try:
        done = services.board_change(trip=trip, change=form.change)
    except CoreError as refused:
        messages.error(request, board_refusal(refused, trip_zone(trip)))
        return back
    if done.then != services.DRAFT:
        told = tell_sentence((one.name, one.phone) for one in done.touched)
        messages.success(request, f"{changed_sentence(form.change.what, form.names)} {told}".strip())
    return _onwards(request, trip, done)


def _onwards(request: HttpRequest, trip: Trip, done: services.Done) -> HttpResponse:
    """Where a change leads."""
    if done.then == services.MOVE and done.hide is not None:
        return redirect(reverse("trips:board-move", args=[trip.uuid], query={"key": str(done.hide.uuid)}))
    if done.then == services.DRAFT and done.draft is not None:
        return redirect("trips:board-confirm", trip.uuid, done.draft.number)
    return (
        _repair(request, trip, done.kind) if done.then == services.REPAIR else redirect("trips:board-show", trip.uuid)
    )


def _repair(request: HttpRequest, trip: Trip, kind: str) -> HttpResponse:
    """Start a repair; while another search stops, its page offers to start this one."""
    try:
        services.repair_start(trip=trip, kind=kind, by=request.user, now=timezone.now())
    except CoreError as refused:
        messages.error(request, rota_refusal(refused))
        return redirect("trips:board-show", trip.uuid)
    return redirect(reverse("trips:board-repair", args=[trip.uuid], query={"kind": kind}))


@trip_page
@require_http_methods(["GET", "POST"])
def board_repair(request: HttpRequest, trip: Trip) -> HttpResponse:
    """How far the repair is; it leads on by itself to what is to be confirmed."""
    if request.method == "POST":
        kind = request.POST.get("kind", "")
        return _repair(request, trip, kind if kind in KINDS_OF_REPAIR else "fewest")
    making = last_making(trip)
    panel = making_panel(making, timezone.now())
    is_over = panel is not None and not panel.is_active
    path = request.get_full_path()
    if making is not None and making.rota is not None and is_over and not making.cancel:
        path = reverse("trips:board-confirm", args=[trip.uuid, making.rota.number])
        return HttpResponse(headers={"HX-Redirect": path}) if _is_part(request) else redirect(path)
    if _is_part(request) and is_over:
        return HttpResponse(headers={"HX-Redirect": path})
    context = {"trip": trip, "panel": panel, "kind": request.GET.get("kind", "fewest")}
    return render(request, f"trips/board_repair.html{'#panel' if _is_part(request) else ''}", context)


def _is_part(request: HttpRequest) -> bool:
    return bool(request.headers.get("HX-Request"))


@trip_page
@require_http_methods(["GET", "POST"])
def board_confirm(request: HttpRequest, trip: Trip, number: int) -> HttpResponse:
    """Who moves and why, whom it tells, whom to phone; then issued by one press."""
    rota, refusal = rota_for(trip, number), ""
    page = confirms.board_confirm(rota, now=timezone.now()) if rota.state == RotaState.DRAFT else None
    if request.method == "POST":
        try:
            seen = seen_version(request.POST)
            issue = rota_issue(rota=rota, by=request.user, now=timezone.now(), seen_version=seen)
            messages.success(request, _issued(issue, page))
            return redirect("trips:board-show", trip.uuid)
        except CoreError as refused:
            refusal = rota_refusal(refused)
    context = {"trip": trip, "rota": rota, "page": page, "refusal": refusal}
    return render(request, "trips/board_confirm.html", context)


def _issued(issue: Issue, page: confirms.BoardConfirm | None) -> str:
    """What the leader reads after an issue: whom to tell, and whom to phone now."""
    told = issued_sentence(issue.rota.number, *told_by_leader_count(issue))
    lines = page.phone if page else ()
    return f"{told} {phone_sentence((one.told.name, one.told.phone, one.leaves_at) for one in lines)}".strip()


@trip_page
@require_safe
def board_move(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Where a person, or everybody of a hide, can go while the session runs, the best for them first."""
    now = timezone.now()
    ahead = sessions_ahead(trip, now)
    moves = moves_for(trip, ahead[0], key=request.GET.get("key", ""), now=now) if ahead else ()
    context = {"trip": trip, "session": ahead[0] if ahead else None, "moves": moves}
    return render(request, "trips/board_move.html", context)


@trip_page
@require_POST
def message_read(request: HttpRequest, trip: Trip, message_uuid: UUID) -> HttpResponse:
    """A leader has read a message: on to the sheet that answers it, its fields filled, or back to where it stood."""
    message = message_for(trip, message_uuid)
    message_answer(message=message, by=request.user, at=timezone.now())
    if request.POST.get("answer") == "sheet":
        return redirect(sheet_of(message))
    return redirect("trips:person-list" if request.POST.get("from") == "people" else "trips:board-show", trip.uuid)


@trip_page
@require_POST
def board_note_undo(request: HttpRequest, trip: Trip, happening_uuid: UUID) -> HttpResponse:
    """Take back one thing that was noted."""
    now = timezone.now()
    try:
        happening_undo(row=happening_for(trip, happening_uuid), by=request.user, at=now)
        messages.success(request, "Taken back.")
    except CoreError as refused:
        messages.error(request, board_refusal(refused, trip_zone(trip)))
        return redirect("trips:board-sheet", trip.uuid, "undo")
    is_sound = services.issued_holds(trip=trip, now=now)
    return redirect("trips:board-show", trip.uuid) if is_sound else _repair(request, trip, "fewest")
