"""Subjects of a leader, how they come to a hide, and the seats of all hides of a trip as one table."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.versions import Stale, row_update
from trips.forms.seat import HideSeats, all_valid, problems_of, seat_tables
from trips.forms.stale import STALE, seen_version
from trips.forms.subject import ChanceForms, SubjectForm
from trips.models import Hide, Subject, Trip
from trips.selectors.site import hide_for, seats_of, trip_of_page
from trips.selectors.subject import own_subject_for, subject_for, subject_rows
from trips.services.site import HideInUse, HideParts, hides_save
from trips.services.subject import (
    ChanceParts,
    SubjectWished,
    chances_save,
    subject_create,
    subject_delete,
)
from trips.views.trip_page import trip_page


@login_required
@require_safe
def subject_list(request: HttpRequest) -> HttpResponse:
    """All subjects of the leader."""
    return render(request, "trips/subject_list.html", {"subjects": subject_rows(request.user)})


@login_required
@require_http_methods(["GET", "POST"])
def subject_new(request: HttpRequest) -> HttpResponse:
    """A new subject; "save and add another" comes back to an empty form."""
    form = SubjectForm(request.POST or None, leader=request.user)
    if request.method == "POST" and form.is_valid():
        subject = subject_create(leader=request.user, subject=form.save(commit=False))
        messages.success(request, f"{subject.name} is saved. Now add it to its hides, on the page of each hide.")
        return redirect("trips:subject-new" if request.POST.get("step") == "more" else "trips:subject-list")
    return render(request, "trips/subject_edit.html", {"form": form})


@login_required
@require_http_methods(["GET", "POST"])
def subject_edit(request: HttpRequest, subject_uuid: UUID) -> HttpResponse:
    """Change a subject."""
    subject = subject_for(request.user, subject_uuid)
    seen, name = subject.version, subject.name
    form = SubjectForm(request.POST or None, instance=subject, leader=subject.leader)
    if request.method == "POST" and form.is_valid():
        try:
            row_update(row=form.save(commit=False), seen_version=seen_version(request.POST))
            messages.success(request, f"{subject.name} is saved.")
            return redirect("trips:subject-list")
        except Stale:
            form.add_error(None, STALE)
    context = {"form": form, "subject": subject, "name": name, "seen": seen}
    return render(request, "trips/subject_edit.html", context)


@login_required
@require_POST
def subject_remove(request: HttpRequest, subject_uuid: UUID) -> HttpResponse:
    """Delete a subject that nobody wishes for; its own leader alone."""
    subject = own_subject_for(request.user, subject_uuid)
    try:
        subject_delete(subject=subject)
        messages.success(request, f"{subject.name} is deleted.")
    except SubjectWished as wished:
        who = "One person" if wished.people == 1 else f"{wished.people} people"
        messages.error(request, f"{who} spent votes on {subject.name}. Take it out of the hides instead.")
        return redirect("trips:subject-edit", subject_uuid=subject_uuid)
    return redirect("trips:subject-list")


@login_required
@require_http_methods(["GET", "POST"])
def hide_subjects(request: HttpRequest, hide_uuid: UUID) -> HttpResponse:
    """Which subjects come to a hide, how likely, by kind of session and month."""
    hide = hide_for(request.user, hide_uuid)
    trip, seen = trip_of_page(request.user, request.GET.get("trip"), hide.site), hide.version
    forms = ChanceForms(request.POST or None, hide=hide)
    stale = ""
    if request.method == "POST" and forms.is_valid():
        try:
            chances_save(hide=hide, parts=_parts(forms, hide), seen_version=seen_version(request.POST))
            messages.success(request, f"The subjects of {hide.name} are saved.")
            return redirect(request.get_full_path())
        except Stale:
            stale = STALE
    context = {"row": hide, "trip": trip, "forms": forms, "seen": seen, "stale": stale}
    return render(request, "trips/hide_subjects.html", context)


def _parts(forms: ChanceForms, hide: Hide) -> ChanceParts:
    saved = forms.chances.save(commit=False)
    new: Subject | None = forms.new.save(commit=False) if forms.new.is_bound else None
    return ChanceParts(saved, list(forms.chances.deleted_objects), list(forms.also.cleaned_data["also"]), new)


@trip_page
@require_http_methods(["GET", "POST"])
def seat_table(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Add, rename and judge the seats of a trip, all hides in one page."""
    tables = seat_tables(request.POST or None, seats_of(request.user, trip))
    if request.method == "POST" and all_valid(tables) and _saved(tables):
        messages.success(request, "The seats are saved.")
        return redirect("trips:seat-table", trip_uuid=trip.uuid)
    context = {"trip": trip, "tables": tables, "problems": problems_of(tables)}
    return render(request, "trips/seat_table.html", context)


def _saved(tables: list[HideSeats]) -> bool:
    """Save the hides that changed, all or none; a refusal stands with its hide."""
    changed = [table for table in tables if table.changed]
    work = [
        (table.hide, HideParts([*table.seats.save(commit=False)], [*table.seats.deleted_objects]), table.seen_version)
        for table in changed
    ]
    try:
        hides_save(hides=work)
    except Stale as stale:
        _table_of(changed, stale.row.pk).stale = STALE
    except HideInUse as used:
        _table_of(
            changed, used.hide.pk
        ).stale = f"Turns of a rota sit in “{used.name}”, and rotas are kept. Say from when it is out of use instead."
    else:
        return True
    return False


def _table_of(tables: list[HideSeats], hide_pk: int) -> HideSeats:
    return next(table for table in tables if table.hide.pk == hide_pk)
