"""What a participant types: wishes, details, a health note."""

from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from participants.access import PersonRequest, person_page
from participants.core.language import gettext as _
from participants.queued import filled_at, form_page, form_taken, form_without_row, row_uuid
from participants.speaking import language_of, speaking
from participants.versions import Stale
from trips.forms.my import ContactForm, DetailsForm, HealthForm, MessageForm, WishesForm
from trips.forms.stale import STALE, fields_mark, seen_version
from trips.models import Place
from trips.selectors import my_wishes
from trips.selectors.messages import messages_of, session_meant
from trips.services.health import health_read, health_save
from trips.services.messages import message_send
from trips.services.my import SeenVersions, WishValues, details_save, wishes_save
from trips.views.my_place import page_filled, place_filled


@require_http_methods(["GET", "POST"])
@person_page
def my_wishes_edit(request: PersonRequest) -> HttpResponse:
    """Six votes, hides to go back to, the light, and with whom or not."""
    place = place_filled(request)
    if place is None:
        return form_without_row(request, reverse("trips:my-start", args=[request.person.uuid]))
    subjects, hides = my_wishes.subjects_to_wish(place), my_wishes.hides_to_wish(place)
    form = WishesForm(request.POST or None, place=place, subjects=subjects, hides=hides)
    seen = fields_mark(form)
    if request.method == "POST" and form.is_valid():
        try:
            wishes_save(
                place=place,
                wishes=_wish_values(form, place),
                seen_version=place.version if request.POST.get("seen_fields") == seen else 0,
            )
            return form_taken(request, _("Your wishes are saved."), page_filled(request, place))
        except Stale:
            form.add_error(None, _(STALE))
    return form_page(request, "trips/my_wishes.html", {"place": place, "seen": seen, "form": form}, form)


def _wish_values(form: WishesForm, place: Place) -> WishValues:
    """What the form says; what a guest is not asked stays as it is."""
    data = form.cleaned_data
    company = (data["company_with"], data["company_how"]) if data.get("company_with") else None
    light, output = data.get("light_wish", place.light_wish), data.get("output", place.output)
    return WishValues(light, output, form.votes(), tuple(data["again"]), company)


@require_http_methods(["GET", "POST"])
@person_page
def my_details(request: PersonRequest) -> HttpResponse:
    """Contact, diet, language, units; and what the person can and cannot do on this trip."""
    place = place_filled(request)
    if place is None:
        return form_without_row(request, reverse("trips:my-start", args=[request.person.uuid]))
    person, posted = place.participant, request.POST or None
    contact, form = ContactForm(posted, instance=person), DetailsForm(posted, instance=place, units=person.units)
    seen = fields_mark(contact, form)
    if request.method == "POST" and contact.is_valid() and form.is_valid():
        try:
            alike = request.POST.get("seen_fields") == seen
            asked = SeenVersions(person.version, place.version) if alike else SeenVersions(0, 0)
            contact.save(commit=False), form.save(commit=False)
            details_save(person=person, place=place, seen=asked)
            with speaking(language_of(person)):  # the language just chosen
                return form_taken(request, _("Your details are saved."), page_filled(request, place))
        except Stale:
            form.add_error(None, _(STALE))
    context = {"place": place, "contact": contact, "seen": seen, "form": form}
    return form_page(request, "trips/my_details.html", context, contact, form)


@require_http_methods(["GET", "POST"])
@person_page
def my_message(request: PersonRequest) -> HttpResponse:
    """Tell the leaders something, also without a network; what was told lately and whether a leader has read it."""
    place = place_filled(request)
    if place is None:
        return form_without_row(request, reverse("trips:my-start", args=[request.person.uuid]))
    at = filled_at(request, timezone.now())
    form = MessageForm(request.POST or None, session=session_meant(place, at))
    if request.method == "POST" and form.is_valid():
        message_send(place=place, message=form.save(commit=False), at=at, row_uuid=row_uuid(request))
        return form_taken(request, _("Your leader gets it on their day page."), page_filled(request, place))
    context = {"place": place, "form": form, "lines": messages_of(place)}
    return form_page(request, "trips/my_message.html", context, form)


@never_cache
@require_http_methods(["GET", "POST"])
@person_page
def my_health(request: PersonRequest) -> HttpResponse:
    """The health note: who reads it, who read it, when it is erased. Every reading is recorded; nothing is kept."""
    note = getattr(request.person, "health_note", None)
    seen = note.version if note else 0
    form = HealthForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            text = form.cleaned_data["text"]
            health_save(person=request.person, text=text, seen_version=seen_version(request.POST))
            return form_taken(request, _("The note is saved.") if text else _("There is no note any more."))
        except Stale:
            form.add_error(None, _(STALE))
    elif request.method == "GET":
        form = HealthForm(initial={"text": health_read(person=request.person, reader=request.typed_by)})
    person = request.person
    context = {"readers": my_wishes.readers_of(person), "readings": my_wishes.readings_of(person), "seen": seen}
    context |= {"form": form, "zone": request.time_zone or "UTC"}
    response = form_page(request, "trips/my_health.html", context, form)
    response.headers["Cache-Control"] = "no-store, private"
    return response
