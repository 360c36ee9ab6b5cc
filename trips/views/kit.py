"""A person's kit: the pieces, what they do in every hide of the trip, and gear read from one picture."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.access import PersonRequest, person_page
from participants.core.errors import PictureRefused
from participants.core.exif import HEAD_BYTES, PIXELS_AT_MOST, read_picture
from participants.versions import Stale
from participants.wording import picture_lines, picture_questions, picture_refused_sentence
from trips.forms.kit import FORMS, PieceForm
from trips.forms.kit_picture import PictureForm, confirm_forms, confirmed_pieces
from trips.forms.stale import STALE, seen_version
from trips.selectors.gear import kit_of, kit_with, person_reach, piece_kind, piece_of, pieces_of
from trips.selectors.packing import packing_groups
from trips.services.kit import piece_add, piece_delete, piece_update, pieces_add
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
ADD_WORDS = {kind: words for kind, _, words in GROUPS}


def _posted(request: PersonRequest) -> Any:
    """What was sent, an empty form too; None when the page is only opened."""
    return request.POST if request.method == "POST" else None


def _kit_page(request: PersonRequest) -> HttpResponse:
    return redirect("trips:kit-show", person_uuid=request.person.uuid)


@require_safe
@person_page
def kit_show(request: PersonRequest) -> HttpResponse:
    """The pieces, and what they do in every hide of the trip."""
    pieces = pieces_of(request.person)
    trip_uuid = request.GET.get("trip") or None
    context = {
        "groups": [(kind, title, words, pieces[kind]) for kind, title, words in GROUPS],
        "found": person_reach(request.person, today=timezone.now().date(), trip_uuid=trip_uuid),
        "has_gear": bool(pieces["body"] and pieces["lens"]),
    }
    return render(request, "trips/kit_show.html", context)


@require_http_methods(["GET", "POST"])
@person_page
def piece_new(request: PersonRequest, kind: str) -> HttpResponse:
    """A new piece of gear."""
    piece_kind(kind)
    form = FORMS[kind](_posted(request), units=request.person.units)
    if request.method == "POST" and form.is_valid():
        piece = piece_add(person=request.person, piece=form.save(commit=False))
        messages.success(request, f"{piece.name} is in the list.")
        return _kit_page(request)
    context = {"form": form, "kind": kind, "words": ADD_WORDS[kind], "found": _tried(request, kind, None)}
    return render(request, "trips/piece_new.html", context)


@require_http_methods(["GET", "POST"])
@person_page
def piece_edit(request: PersonRequest, kind: str, piece_uuid: UUID) -> HttpResponse:
    """A piece changed; numbers that nobody touched stay as stored."""
    piece = piece_of(request.person, kind, piece_uuid)
    seen, name = piece.version, piece.name
    form = FORMS[kind](_posted(request), instance=piece, units=request.person.units)
    if request.method == "POST" and form.is_valid():
        try:
            piece_update(piece=form.save(commit=False), seen_version=seen_version(request.POST, piece))
            messages.success(request, f"{piece.name} is saved.")
            return _kit_page(request)
        except Stale:
            form.add_error(None, STALE)
    context = {"form": form, "kind": kind, "piece": piece, "piece_name": name, "seen": seen}
    return render(request, "trips/piece_edit.html", context | {"found": _tried(request, kind, None)})


@require_http_methods(["GET", "POST"])
@person_page
def piece_remove(request: PersonRequest, kind: str, piece_uuid: UUID) -> HttpResponse:
    """A piece taken off the list, after a question."""
    piece = piece_of(request.person, kind, piece_uuid)
    if request.method == "POST":
        piece_delete(piece=piece)
        messages.success(request, f"{piece.name} is off the list.")
        return _kit_page(request)
    return render(request, "trips/piece_remove.html", {"piece": piece, "kind": kind})


@require_POST
@person_page
def piece_try(request: PersonRequest, kind: str) -> HttpResponse:
    """What the kit would do with the piece as it stands in the form; saves nothing."""
    piece_kind(kind)
    replaced = request.POST.get("replaces", "")
    form = FORMS[kind](request.POST, units=request.person.units)
    context = {"found": _tried(request, kind, form if form.is_valid() else None, replaced), "form": form, "live": True}
    return render(request, "trips/_verdicts.html", context)


def _tried(request: PersonRequest, kind: str, form: PieceForm | None, replaced: str = "") -> Any:
    """The reach of the person's kit, with the piece of a valid form added or in the place of another."""
    kit = None if form is None else kit_with(kit_of(request.person), kind, form.value(), replaced)
    return person_reach(request.person, today=timezone.now().date(), kit=kit)


@upload_page(most=MOST_PICTURE_BYTES, keep=HEAD_BYTES)
@require_http_methods(["GET", "POST"])
@person_page
def kit_picture(request: PersonRequest) -> HttpResponse:
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
    return render(request, "trips/kit_picture.html", {"form": form, **limits})


@require_POST
@person_page
def picture_save(request: PersonRequest) -> HttpResponse:
    """Body and lens as confirmed, both or one of them."""
    body, lens = confirm_forms(request.POST, request.person.units)
    pieces = confirmed_pieces(request.POST, body, lens)
    if pieces is None:
        return render(request, "trips/picture_save.html", {"body": body, "lens": lens})
    pieces_add(person=request.person, pieces=pieces)
    messages.success(request, f"In the list: {', '.join(piece.name for piece in pieces) or 'nothing'}.")
    return _kit_page(request)


@require_safe
@person_page
def packing_show(request: PersonRequest) -> HttpResponse:
    """The packing list from the person's own gear and the trip."""
    found = packing_groups(request.person, today=timezone.now().date(), trip_uuid=request.GET.get("trip") or None)
    return render(request, "trips/packing_show.html", {"found": found})
