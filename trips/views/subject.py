"""Subjects of a leader, and how they come to a hide."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants.versions import Stale
from trips.forms.stale import STALE, seen_version
from trips.forms.subject import ChanceForms, SubjectForm
from trips.models import Hide, Subject
from trips.selectors.site import hide_for, trip_of_page
from trips.selectors.subject import own_subject_for, subject_for, subject_rows
from trips.services.subject import (
    ChanceParts,
    SubjectWished,
    chances_save,
    subject_create,
    subject_delete,
    subject_update,
)


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
        messages.success(request, f"{subject.name} is saved. Say in which hides it comes on the page of each hide.")
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
            subject_update(subject=form.save(commit=False), seen_version=seen_version(request.POST, subject))
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
            chances_save(hide=hide, parts=_parts(forms, hide), seen_version=seen_version(request.POST, hide))
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
