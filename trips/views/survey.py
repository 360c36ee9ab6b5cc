"""A hide is measured on the spot, with the phone; what was measured waits for a network where there is none."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from participants.queued import form_errors, is_queued
from participants.versions import Stale
from trips.forms.stale import STALE
from trips.forms.survey import NEW, POSITION, PositionForm, SurveyedViewForm, position_text
from trips.models import Hide
from trips.selectors.site import SurveyedHide, hide_for, hides_to_survey, trip_of_page, units_at
from trips.services.site import position_take, view_take


@never_cache
@login_required
@require_safe
def leader_contact(request: HttpRequest) -> HttpResponse:
    """Who is signed in, and a fresh token for forms that waited for a network."""
    return JsonResponse({"leader": f"leader-{request.user.pk}", "csrf": get_token(request)})


@login_required
@require_http_methods(["GET", "POST"])
def hide_survey(request: HttpRequest, hide_uuid: UUID) -> HttpResponse:
    """Position, bearings and distances of a hide; the other hides of its site stand below for the way round."""
    hide = hide_for(request.user, hide_uuid)
    trip, today = trip_of_page(request.user, request.GET.get("trip"), hide.site), timezone.now().date()
    form = None
    if request.method == "POST":
        form = _posted(request, hide, today, units_at(trip))
        if form.is_valid():
            try:
                return _taken(request, _SAVES[type(form)](request, form))
            except Stale:
                form.add_error(None, STALE)
        if is_queued(request):
            return JsonResponse({"taken": False, "errors": form_errors(form)})
    surveyed = [_with_forms(one, form, today, units_at(trip)) for one in hides_to_survey(hide, today)]
    return render(request, "trips/hide_survey.html", {"row": hide, "trip": trip, "hides": surveyed, "posted": form})


def _posted(request: HttpRequest, hide: Hide, today: date, units: str) -> Any:
    """The one form of the page that was sent; 404 where its view is gone."""
    about = request.POST.get("about", "")
    if about == POSITION:
        return PositionForm(request.POST, hide=hide, today=today)
    view = next((view for view in hide.views.all() if str(view.uuid) == about), None)
    if view is None and about != NEW:
        raise Http404("no such view")
    return SurveyedViewForm(request.POST, hide=hide, view=view, today=today, units=units)


def _position_saved(request: HttpRequest, form: PositionForm) -> dict[str, Any]:
    hide = form.instance
    position_take(hide=hide, was=form.cleaned_data["was"])
    return {form.add_prefix("was"): position_text(hide)}


def _view_saved(request: HttpRequest, form: SurveyedViewForm) -> dict[str, Any]:
    seen = form.cleaned_data["seen_version"] or 0
    view_take(view=form.save(commit=False), seen_version=seen)
    return {form.add_prefix("seen_version"): form.instance.version}


_SAVES: dict[type, Callable[..., dict[str, Any]]] = {PositionForm: _position_saved, SurveyedViewForm: _view_saved}


def _taken(request: HttpRequest, fields: dict[str, Any]) -> HttpResponse:
    """Saved: for the queue what the form goes on from, else the page again."""
    if is_queued(request):
        return JsonResponse({"taken": True, "fields": fields})
    messages.success(request, "Measured and saved.")
    return redirect(request.get_full_path())


def _with_forms(one: SurveyedHide, posted: Any, today: date, units: str) -> dict[str, Any]:
    """A hide with its forms; the one that came back stands in its place, as typed."""
    hide = one.hide
    fresh: list[PositionForm | SurveyedViewForm] = [PositionForm(None, hide=hide, today=today)]
    views = [*hide.views.all(), None]
    fresh += [SurveyedViewForm(None, hide=hide, view=view, today=today, units=units) for view in views]
    forms = [posted if posted is not None and posted.prefix == form.prefix else form for form in fresh]
    return {"one": one, "position": forms[0], "views": forms[1:-1], "new": forms[-1]}
