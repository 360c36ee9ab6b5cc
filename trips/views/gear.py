"""A person's gear: the pieces, what they do in every hide of the trip, and gear read from one picture."""

from typing import Any
from uuid import UUID

from django.forms import Form
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.access import PersonRequest, person_page
from participants.core.errors import PictureRefused
from participants.core.exif import HEAD_BYTES, PIXELS_AT_MOST, read_picture
from participants.core.isolation import isolated
from participants.core.language import gettext
from participants.queued import form_page, form_taken, is_queued, row_uuid
from participants.versions import Stale
from participants.wording import picture_lines, picture_questions, picture_refused_sentence
from trips.forms.gear import FORMS, PieceForm
from trips.forms.gear_away import PieceLostForm
from trips.forms.gear_picture import PictureForm, confirm_forms, confirmed_pieces
from trips.forms.stale import STALE, STALE_LOOK, seen_version
from trips.models import GearAway, Place
from trips.models.gear_away import PIECES
from trips.selectors.gear import gear_of, lost_rows, person_reach, piece_kind, piece_of, pieces_of
from trips.selectors.my import place_of
from trips.selectors.packing import packing_groups
from trips.services.gear import gear_away_delete, gear_away_save, piece_delete, piece_update, pieces_add
from trips.views.uploads import upload_page

MOST_PICTURE_BYTES = 80 * 1024 * 1024  # no JPEG of a camera is larger; from memory
GROUPS = (
    ("body", _("Bodies"), _("Add a body")),
    ("lens", _("Lenses"), _("Add a lens")),
    ("converter", _("Teleconverters"), _("Add a teleconverter")),
    ("tube", _("Extension tubes"), _("Add an extension tube")),
    ("support", _("Supports"), _("Add a support")),
    ("battery", _("Spare batteries"), _("Add spare batteries")),
)
ADDED_BEFORE = _("This was taken before and changed in your list since: change it there. What you typed is still here.")
ADD_WORDS = {kind: words for kind, _title, words in GROUPS}


def _posted(request: PersonRequest) -> Any:
    """What was sent, an empty form too; None when the page is only opened."""
    return request.POST if request.method == "POST" else None


def _list(request: PersonRequest) -> str:
    """The address of the list; the trip that was asked for stays asked for."""
    trip = request.GET.get("trip")
    return reverse("trips:gear-show", args=[request.person.uuid], query={"trip": trip} if trip else None)


def _place(request: PersonRequest) -> Place | None:
    """The person's place on the trip that the address names, else on the running or next one."""
    trip_uuid, today = request.GET.get("trip") or None, timezone.now().date()
    return place_of(request.person, typed_by=request.typed_by, today=today, trip_uuid=trip_uuid)


def _taken(request: PersonRequest, said: str) -> HttpResponse:
    """Saved: on to the list, with a message."""
    return form_taken(request, said, _list(request))


def _add(request: PersonRequest, pieces: list[Any]) -> None:
    """New pieces of the person."""
    pieces_add(person=request.person, pieces=pieces, row_uuid=row_uuid(request))


@require_safe
@person_page
def gear_show(request: PersonRequest) -> HttpResponse:
    """The pieces, and what they do in every hide of the trip."""
    pieces = pieces_of(request.person)
    found = person_reach(request.person, _place(request), now=timezone.now())
    away = found.away if found else {}
    told = {kind: [(piece, away.get(piece.uuid, "")) for piece in pieces[kind]] for kind, *_rest in GROUPS}
    context = {
        "groups": [(kind, title, words, told[kind]) for kind, title, words in GROUPS],
        "found": found,
        "has_gear": bool(pieces["body"] or pieces["lens"]),
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
            return _taken(request, gettext("{piece} is in the list.", piece=isolated(piece.name)))
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
            piece_update(piece=form.save(commit=False), seen_version=seen_version(request.POST))
            return _taken(request, gettext("{piece} is saved.", piece=isolated(piece.name)))
        except Stale:
            form.add_error(None, gettext(STALE))
    context = {"form": form, "kind": kind, "piece": piece, "piece_name": name, "seen": seen}
    context |= {"lost": _is_lost(request, kind, piece)}
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
        return _taken(request, gettext("It is off the list."))  # somebody was faster; it is as this person wants it
    seen, form = piece.version, Form(_posted(request))
    if request.method == "POST":
        try:
            piece_delete(piece=piece, seen_version=seen_version(request.POST))
            return _taken(request, gettext("{piece} is off the list.", piece=isolated(piece.name)))
        except Stale:
            form.add_error(None, gettext(STALE_LOOK))
    context = {"piece": piece, "kind": kind, "form": form, "seen": seen}
    return form_page(request, "trips/piece_remove.html", context, form)


@require_http_methods(["GET", "POST"])
@person_page
def piece_lost(request: PersonRequest, kind: str, piece_uuid: UUID) -> HttpResponse:
    """A piece of one's own that is lost or broken from a session on; it stays in the list."""
    piece, place = _piece_on_trip(request, kind, piece_uuid)
    form = PieceLostForm(_posted(request), trip=place.trip)
    if request.method == "POST" and form.is_valid():
        row = next(iter(lost_rows(place, kind, piece)), GearAway(trip=place.trip, **{kind: piece}))
        row.from_at, row.until_at = form.cleaned_data["from_session"].starts_at, None
        gear_away_save(row=row)
        return _taken(request, gettext("{piece} is noted as lost. Your leader sees it.", piece=isolated(piece.name)))
    return form_page(request, "trips/piece_lost.html", {"form": form, "kind": kind, "piece": piece}, form)


@require_POST
@person_page
def piece_found(request: PersonRequest, kind: str, piece_uuid: UUID) -> HttpResponse:
    """Undo it: the piece is there again, as if it had never been lost."""
    piece, place = _piece_on_trip(request, kind, piece_uuid)
    for row in lost_rows(place, kind, piece):
        gear_away_delete(row=row)
    return _taken(request, gettext("{piece} is with you again.", piece=isolated(piece.name)))


def _piece_on_trip(request: PersonRequest, kind: str, piece_uuid: UUID) -> tuple[Any, Any]:
    """A piece of the person that decides reach, and their place on the trip asked for or next; 404 without."""
    place = _place(request)
    if kind not in PIECES or place is None:
        raise Http404("nothing that can be lost on a trip")
    return piece_of(request.person, kind, piece_uuid), place


def _is_lost(request: PersonRequest, kind: str, piece: Any) -> bool | None:
    """Whether a piece is noted as lost on the trip asked for or next; None where it cannot be."""
    place = _place(request)
    if kind not in PIECES or place is None:
        return None
    return bool(lost_rows(place, kind, piece))


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
    gear = None if form is None else gear_of(request.person).with_piece(kind, form.value(), replaced)
    return person_reach(request.person, _place(request), now=timezone.now(), gear=gear)


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
    names = ", ".join(isolated(piece.name) for piece in pieces) or gettext("nothing")
    return _taken(request, gettext("In the list: {pieces}.", pieces=names))


@require_safe
@person_page
def packing_show(request: PersonRequest) -> HttpResponse:
    """The packing list from the person's own gear and the trip."""
    found = packing_groups(request.person, _place(request))
    return render(request, "trips/packing_show.html", {"found": found})
