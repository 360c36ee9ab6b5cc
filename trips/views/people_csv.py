"""Files of people and of gear, out and in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from participants.core.table_text import BYTES_AT_MOST
from trips.documents.gear_columns import GEAR_COLUMNS, PEOPLE_COLUMNS
from trips.forms.people_csv import ImportForm, ImportPlan, import_plan
from trips.models import Trip
from trips.selectors.people_csv import gear_csv_table, people_known, people_on, people_table
from trips.services.people_csv import gear_import_save, people_import_save
from trips.views.trip_page import trip_page
from trips.views.uploads import upload_page


def _file(name: str, content: bytes) -> HttpResponse:
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    response["Cache-Control"] = "private, no-store"
    return response


@trip_page
@require_safe
def gear_export(request: HttpRequest, trip: Trip) -> HttpResponse:
    """Everybody's gear as a file."""
    return _file(f"gear-{slugify(trip.name) or 'trip'}", gear_csv_table(trip))


@trip_page
@require_safe
def people_export(request: HttpRequest, trip: Trip) -> HttpResponse:
    """The people of a trip as a file."""
    return _file(f"people-{slugify(trip.name) or 'trip'}", people_table(trip))


@upload_page(most=2 * BYTES_AT_MOST, keep=BYTES_AT_MOST + 1)
@trip_page
@require_http_methods(["GET", "POST"])
def people_import(request: HttpRequest, trip: Trip) -> HttpResponse:
    """A file looked at, shown as it was read, and taken whole or not at all."""
    form = ImportForm(request.POST, request.FILES) if request.method == "POST" else ImportForm()
    plan = _plan(request, trip, form) if request.method == "POST" and form.is_valid() else None
    if plan is not None and not plan.faults and request.POST.get("step") == "save":
        if plan.kind == "gear":
            gear_import_save(pieces=plan.pieces)
        else:
            people_import_save(trip=trip, people=plan.people, states=plan.states)
        messages.success(request, f"{plan.rows} rows taken: {plan.rows - plan.known} new, {plan.known} known before.")
        return redirect("trips:gear-table" if plan.kind == "gear" else "trips:trip-show", trip_uuid=trip.uuid)
    context = {"trip": trip, "form": form, "plan": plan, "people_columns": PEOPLE_COLUMNS, "gear_columns": GEAR_COLUMNS}
    return render(request, "trips/people_import.html", context | {"most_kb": BYTES_AT_MOST // 1024})


def _plan(request: HttpRequest, trip: Trip, form: ImportForm) -> ImportPlan:
    """What the table of a valid form would do on this trip."""
    table = form.cleaned_data["table"]
    gear = {"kind", "person"} <= set(table.heading)
    return import_plan(
        table, people_on(trip, with_gear=True) if gear else people_known(request.user, trip), request.user
    )
