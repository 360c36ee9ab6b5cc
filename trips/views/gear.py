"""Gear: a person's pieces, what they do in every hide, gear read from a picture; the leader's table of all."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.access import PersonRequest, person_page
from participants.core.errors import PictureRefused
from participants.core.exif import HEAD_BYTES, PIXELS_AT_MOST, read_picture
from participants.queued import client_uuid, form_page, form_taken, is_queued, row_uuid
from participants.versions import Stale
from participants.wording import picture_lines, picture_questions, picture_refused_sentence
from trips.forms.gear import FORMS, PieceForm
from trips.forms.gear_picture import PictureForm, confirm_forms, confirmed_pieces
from trips.forms.stale import STALE, STALE_LOOK, seen_version
from trips.selectors.gear import gear_of, gear_rows, gear_with, person_reach, piece_kind, piece_of, pieces_of
from trips.selectors.packing import packing_groups
from trips.selectors.trip import trip_for
from trips.services.gear import piece_delete, piece_update, pieces_add
from trips.views.uploads import upload_page

MOST_PICTURE_BYTES = 80 * 1024 * 1024
GROUPS = (
    ("body", "Bodies", "a body"),
    ("lens", "Lenses", "a lens"),
    ("converter", "Teleconverters", "a teleconverter"),
    ("tube", "Extension tubes", "an extension tube"),
    ("support", "Supports", "a support"),
    ("battery", "Spare batteries", "spare batteries"),
)
ADDED_BEFORE = "This was taken before and changed in your list since: change it there. What you typed is still here."
ADD_WORDS = {kind: words for kind, _, words in GROUPS}


def _posted(request: PersonRequest) -> Any:
    """What was sent, an empty form too; None when the page is only opened."""
    return request.POST if request.method == "POST" else None


def _taken(request: PersonRequest, said: str) -> HttpResponse:
    """Saved: on to the list, with a message."""
    return form_taken(request, said, reverse("trips:gear-show", args=[request.person.uuid]))


def _add(request: PersonRequest, pieces: list[Any]) -> None:
    """New pieces of the person, once however often the phone sends them."""
    pieces_add(person=request.person, pieces=pieces, client_uuid=client_uuid(request), row_uuid=row_uuid(request))


@require_safe
@person_page
def gear_show(request: PersonRequest) -> HttpResponse:
    """The pieces, and what they do in every hide of the trip."""
    pieces = pieces_of(request.person)
    trip_uuid = request.GET.get("trip") or None
    asked: dict[str, Any] = {"typed_by": request.typed_by, "today": timezone.now().date(), "trip_uuid": trip_uuid}
    context = {
        "groups": [(kind, title, words, pieces[kind]) for kind, title, words in GROUPS],
        "found": person_reach(request.person, **asked),
        "has_gear": bool(pieces["body"] and pieces["lens"]),
    }
    return render(request, "trips/gear_show.html", context)


@require_http_methods(["GET", "POST"])
@person_page
def piece_new(request: PersonRequest, kind: str) -> HttpResponse:
    """A new piece of gear."""
    piece_kind(kind)
    form = FORMS[kind](_posted(request), units=request.person.units)
    if request.method == "POST" and form.is_valid():
        piece = form.save(commit=False)
        try:
            _add(request, [piece])
            return _taken(request, f"{piece.name} is in the list.")
        except Stale:
            form.add_error(None, ADDED_BEFORE)
    context = {"form": form, "kind": kind, "words": ADD_WORDS[kind], "found": _tried(request, kind, None)}
    return form_page(request, "trips/piece_new.html", context, form)


@require_http_methods(["GET", "POST"])
@person_page
def piece_edit(request: PersonRequest, kind: str, piece_uuid: UUID) -> HttpResponse:
    """A piece changed; numbers that nobody touched stay as stored."""
    piece = piece_of(request.person, kind, piece_uuid)
    seen, name = piece.version, piece.name
    form = FORMS[kind](_posted(request), instance=piece, units=request.person.units)
    if request.method == "POST" and form.is_valid():
        try:
            asked = seen_version(request.POST, piece)
            piece_update(piece=form.save(commit=False), seen_version=asked, client_uuid=client_uuid(request))
            return _taken(request, f"{piece.name} is saved.")
        except Stale:
            form.add_error(None, STALE)
    context = {"form": form, "kind": kind, "piece": piece, "piece_name": name, "seen": seen}
    return form_page(request, "trips/piece_edit.html", context | {"found": _tried(request, kind, None)}, form)


@require_http_methods(["GET", "POST"])
@person_page
def piece_remove(request: PersonRequest, kind: str, piece_uuid: UUID) -> HttpResponse:
    """A piece taken off the list, after a question."""
    try:
        piece = piece_of(request.person, kind, piece_uuid)
    except Http404:
        if not (is_queued(request) and request.method == "POST"):
            raise
        return _taken(request, "It is off the list.")  # somebody was faster; it is as this person wants it
    seen, form = piece.version, Form(_posted(request))
    if request.method == "POST":
        try:
            asked = seen_version(request.POST, piece)
            piece_delete(piece=piece, seen_version=asked, client_uuid=client_uuid(request))
            return _taken(request, f"{piece.name} is off the list.")
        except Stale:
            form.add_error(None, STALE_LOOK)
    context = {"piece": piece, "kind": kind, "form": form, "seen": seen}
    return form_page(request, "trips/piece_remove.html", context, form)


@require_POST
@person_page
def piece_try(request: PersonRequest, kind: str) -> HttpResponse:
    """What the gear would do with the piece as it stands in the form; saves nothing."""
    piece_kind(kind)
    replaced = request.POST.get("replaces", "")
    form = FORMS[kind](request.POST, units=request.person.units)
    context = {"found": _tried(request, kind, form if form.is_valid() else None, replaced), "form": form, "live": True}
    return render(request, "trips/_verdicts.html", context)


def _tried(request: PersonRequest, kind: str, form: PieceForm | None, replaced: str = "") -> Any:
    """The reach of the person's gear, with the piece of a valid form added or in the place of another."""
    gear = None if form is None else gear_with(gear_of(request.person), kind, form.value(), replaced)
    return person_reach(request.person, typed_by=request.typed_by, today=timezone.now().date(), gear=gear)


@upload_page(most=MOST_PICTURE_BYTES, keep=HEAD_BYTES)
@require_http_methods(["GET", "POST"])
@person_page
def gear_picture(request: PersonRequest) -> HttpResponse:
    """One picture straight from the camera: what it says is shown, to be confirmed."""
    form = PictureForm(_posted(request), request.FILES if request.method == "POST" else None)
    limits = {"most_mb": MOST_PICTURE_BYTES // 1024**2, "most_pixels": PIXELS_AT_MOST // 1_000_000}
    if request.method == "POST" and form.is_valid():
        try:
            gear = read_picture(form.cleaned_data["picture"].read(HEAD_BYTES))
        except PictureRefused as refused:
            form.add_error("picture", picture_refused_sentence(refused))
        else:
            body, lens = confirm_forms(None, request.person.units, gear)
            context = {"body": body, "lens": lens, "lines": picture_lines(gear), "asks": picture_questions(gear)}
            return render(request, "trips/picture_save.html", context)
    return render(request, "trips/gear_picture.html", {"form": form, **limits})


@require_http_methods(["GET", "POST"])
@person_page
def picture_save(request: PersonRequest) -> HttpResponse:
    """Body and lens as confirmed, both or one of them. Opened by itself it is empty: what waited comes back there."""
    body, lens = confirm_forms(_posted(request), request.person.units)
    pieces = confirmed_pieces(request.POST, body, lens) if request.method == "POST" else None
    if pieces is None:
        return form_page(request, "trips/picture_save.html", {"body": body, "lens": lens}, body, lens)
    try:
        _add(request, pieces)
    except Stale:
        lens.add_error(None, ADDED_BEFORE)
        return form_page(request, "trips/picture_save.html", {"body": body, "lens": lens}, body, lens)
    return _taken(request, f"In the list: {', '.join(piece.name for piece in pieces) or 'nothing'}.")


@require_safe
@person_page
def packing_show(request: PersonRequest) -> HttpResponse:
    """The packing list from the person's own gear and the trip."""
    asked: dict[str, Any] = {"typed_by": request.typed_by, "trip_uuid": request.GET.get("trip") or None}
    found = packing_groups(request.person, today=timezone.now().date(), **asked)
    return render(request, "trips/packing_show.html", {"found": found})


@login_required
@require_safe
def gear_table(request: HttpRequest, trip_uuid: UUID) -> HttpResponse:
    """People by views, the verdict and best set in each, then the list of loans."""
    trip = trip_for(request.user, trip_uuid)
    values, rows, wanted = gear_rows(trip)
    columns = [(hide.name, view.name, len(hide.views) > 1) for hide in values.hides for view in hide.views]
    context = {"trip": trip, "rows": rows, "columns": columns, "hides": values.hides}
    context |= {"loans": [loan for loan in wanted if loan.spare], "others": [loan for loan in wanted if not loan.spare]}
    return render(request, "trips/gear_table.html", context)
