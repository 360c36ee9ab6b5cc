"""A participant's data: taken along as a file, or erased."""

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants import access
from participants.access import PersonRequest, kept_page, own_page
from trips.forms.my import EraseForm
from trips.services.my_data import my_data, person_erase


@require_safe
@kept_page
def my_data_show(request: PersonRequest) -> HttpResponse:
    """What is kept, how to take it along, how to have it erased."""
    return render(request, "trips/my_data.html", {"form": EraseForm()})


@never_cache
@require_POST
@own_page
def my_data_file(request: PersonRequest) -> HttpResponse:
    """Everything as one JSON file; the health note only when it was ticked."""
    kept = my_data(person=request.person, with_health="health" in request.POST)
    response = JsonResponse(kept, json_dumps_params={"indent": 2, "ensure_ascii": False})
    day = timezone.now().date().isoformat()
    response.headers["Content-Disposition"] = f'attachment; filename="my-data-{day}.json"'
    response.headers["Cache-Control"] = "no-store, private"
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@kept_page
def my_data_erase(request: PersonRequest) -> HttpResponse:
    """Erase the person after a question; the device is emptied with them. Whoever just looks is led to the question."""
    if request.method != "POST":
        return redirect("trips:my-data", person_uuid=request.person.uuid)
    form = EraseForm(request.POST)
    if not form.is_valid():
        return render(request, "trips/my_data.html", {"form": form})
    person_erase(person=request.person)
    response = render(request, "participants/erased.html", {"typed_by": request.typed_by})
    if request.typed_by is None:
        access.sign_out(request, response)
    return response
