"""Who asks for a participant's page. A page carries its person's uuid; anybody else gets a 404.

`@own_page` for the person alone, `@person_page` for the person or a leader of theirs typing for them, `@kept_page` for
the person or their own leader, not for a co-leader of a trip. All find `request.person`, `request.typed_by` (the
leader, or None when it is the person), `request.is_kept` (it is the person or their own leader, who see every trip of
the person's), `request.brings_gear` and `request.time_zone` (of the trip that the page is about, or empty). The view
takes `person_uuid`.
Answers to the person carry X-Edition: a device keeps pages of one edition only, and none that tells what was just done.
"""

import uuid
from collections.abc import Callable
from functools import wraps
from ipaddress import IPv6Address, ip_address, ip_network
from typing import Any

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.messages import get_messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.middleware.csrf import rotate_token
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.cache import patch_cache_control, patch_vary_headers

from participants.models import Device, Participant
from participants.selectors import (
    SIGNED_IN_AS,
    brings_gear,
    device_in_use,
    device_revoked,
    edition_of,
    participants_kept_by,
    participants_led_by,
    places_seen,
    zone_of,
)
from participants.services import device_add
from participants.speaking import ENGLISH, language_of, speaking
from participants.tasks import device_added_send

CLEAR_ALL = '"cache", "cookies", "storage"'
CLEAR_BUT_COOKIES = '"cache", "storage"'  # at log-in: the new session is a cookie
SIGNED_OUT = "signed-out"  # in the address of the sign-in page: this device was signed out from elsewhere
LAST_PERSON_COOKIE = "device-of"
AS_THE_PERSON = "person"  # asked by a leader who wants to read a page in the person's language
LAST_PERSON_AGE_S = 60 * 60 * 24 * 365  # longer than a session: forms that wait stay for whoever comes in again
RENEWED_ON = "renewed_on"
DEVICE_NAMES = (
    ("iPhone", "phone (iOS)"),
    ("iPad", "tablet (iPadOS)"),
    ("Android", "phone or tablet (Android)"),
    ("Windows", "computer (Windows)"),
    ("Mac OS", "computer (macOS)"),
    ("Linux", "computer (Linux)"),
)


class PersonRequest(HttpRequest):
    """A request for a page of `person`, who asks themselves or has a leader type for them (`typed_by`)."""

    person: Participant
    typed_by: AbstractBaseUser | None
    is_kept: bool
    edition: str
    brings_gear: bool
    time_zone: str


PersonView = Callable[..., HttpResponseBase]


def device_of(request: HttpRequest) -> Device | None:
    """The signed-in device this request comes from; one look at the database a request."""
    if not hasattr(request, "_participant_device"):
        request._participant_device = device_in_use(request.session)  # type: ignore[attr-defined]
    return request._participant_device  # type: ignore[attr-defined]


def person_of(request: HttpRequest) -> Participant | None:
    """The participant who is signed in, or None."""
    device = device_of(request)
    return device.participant if device else None


def in_readers_language(view: PersonView) -> PersonView:
    """The page that anybody may open: in the language of the person who is signed in, else of the browser.

    Leaders read English.
    """

    @wraps(view)
    def spoken(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        with speaking(_language_asked(request)):
            response = view(request, *args, **kwargs)
        patch_vary_headers(response, ["Accept-Language", "Cookie"])
        return response

    return spoken


def _language_asked(request: HttpRequest) -> str:
    person = person_of(request)
    if person is not None:
        return language_of(person)
    return ENGLISH if request.user.is_authenticated else translation.get_language_from_request(request)


def own_page(view: PersonView) -> PersonView:
    """The page of a participant that nobody else opens, their leader included."""

    @wraps(view)
    def guarded(request: HttpRequest, person_uuid: uuid.UUID, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return _answer(request, view, (_own(request, person_uuid), None), *args, **kwargs)

    return guarded


def person_page(view: PersonView) -> PersonView:
    """The page of a participant that a leader of theirs may also open, and type into for them."""
    return _also_for(participants_led_by, view)


def kept_page(view: PersonView) -> PersonView:
    """The page of a participant that only their own leader may also open: what is not of one trip alone."""
    return _also_for(participants_kept_by, view)


def _also_for(people_of: Callable[[Any], QuerySet[Participant]], view: PersonView) -> PersonView:
    @wraps(view)
    def guarded(request: HttpRequest, person_uuid: uuid.UUID, *args: Any, **kwargs: Any) -> HttpResponseBase:
        who: tuple[Participant | None, AbstractBaseUser | None] = (_own(request, person_uuid), None)
        if who[0] is None and request.user.is_authenticated:
            found = people_of(request.user).filter(uuid=person_uuid).select_related("leader").first()
            who = (found, request.user)
        return _answer(request, view, who, *args, **kwargs)

    return guarded


def _own(request: HttpRequest, person_uuid: uuid.UUID) -> Participant | None:
    person = person_of(request)
    return person if person is not None and person.uuid == person_uuid else None


def _answer(
    request: HttpRequest,
    view: PersonView,
    who: tuple[Participant | None, AbstractBaseUser | None],
    *args: Any,
    **kwargs: Any,
) -> HttpResponseBase:
    """Call the view for whoever may see the page; nobody at all is led to the sign-in page, a stranger gets a 404."""
    person, typed_by = who
    if person is None:
        if person_of(request) is None and not request.user.is_authenticated:
            return _led_to_sign_in(request)
        raise Http404("no such page for this person")
    request.person, request.typed_by = person, typed_by  # type: ignore[attr-defined]
    request.is_kept = typed_by is None or typed_by.pk == person.leader_id  # type: ignore[attr-defined]
    today = timezone.now().date()
    request.edition = "" if typed_by else edition_of(person, today=today)  # type: ignore[attr-defined]
    seen = places_seen(person, typed_by)
    request.time_zone = zone_of(seen, today=today, trip_uuid=request.GET.get("trip"))  # type: ignore[attr-defined]
    request.brings_gear = brings_gear(person)  # type: ignore[attr-defined]
    as_they_do = typed_by is None or request.GET.get("as") == AS_THE_PERSON
    with speaking(language_of(person) if as_they_do else ENGLISH):
        response = view(request, *args, **kwargs)
    if typed_by is None:
        _session_renew(request, response, person)
        if request.method == "GET" and response.status_code == 200 and not tells_what_was_done(request):
            response.headers["X-Edition"] = request.edition  # type: ignore[attr-defined]
    patch_cache_control(response, private=True, no_store=True)
    patch_vary_headers(response, ["Cookie"])
    return response


def tells_what_was_done(request: HttpRequest) -> bool:
    """Whether the page shows a message ("Your wishes are saved."), which is not for later."""
    told = get_messages(request)
    return bool(getattr(told, "used", False)) and len(told) > 0


def _session_renew(request: HttpRequest, response: HttpResponseBase, person: Participant) -> None:
    """Once a day the time of a session that is in use begins anew, and with it the note whose device this is."""
    today = timezone.now().date().isoformat()
    if request.session.get(RENEWED_ON) != today:
        request.session[RENEWED_ON] = today
        device_noted(request, response, str(person.uuid))


def _led_to_sign_in(request: HttpRequest) -> HttpResponse:
    """Lead to the sign-in page; a device that was signed out from elsewhere empties itself on the way."""
    if not device_revoked(request.COOKIES.get(settings.SESSION_COOKIE_NAME)):
        return redirect("participants:link-ask")
    response = redirect(reverse("participants:link-ask", query={SIGNED_OUT: 1}))
    response.headers["Clear-Site-Data"] = CLEAR_ALL
    return response


def sign_in(request: HttpRequest, response: HttpResponse, person: Participant) -> None:
    """Open a session for a person on this device: a new id, a new form token, nothing left of anybody before.

    What the same person left on the device (forms that still wait to be sent) stays. On a device that was not theirs
    before they are told of it.
    """
    same_person = device_noted(request, response, str(person.uuid))
    request.session.flush()
    request.session[SIGNED_IN_AS] = str(person.uuid)
    request.session[RENEWED_ON] = timezone.now().date().isoformat()
    request.session.save()
    rotate_token(request)
    name = device_name(request.headers.get("User-Agent", ""))
    key = str(request.session.session_key)
    device = device_add(person=person, session_key=key, name=name, is_new=not same_person)
    if not same_person:
        device_added_send.enqueue(str(person.uuid), device.name, device.signed_in_at.isoformat())
        response.headers["Clear-Site-Data"] = CLEAR_BUT_COOKIES


def device_noted(request: HttpRequest, response: HttpResponseBase, who: str) -> bool:
    """Note in the browser whose device this is; whether it was theirs before, so that what they left there may stay."""
    before = last_person(request)
    response.set_signed_cookie(
        LAST_PERSON_COOKIE,
        who,
        salt=LAST_PERSON_COOKIE,
        max_age=LAST_PERSON_AGE_S,
        httponly=True,
        samesite="Lax",
        secure=bool(settings.SESSION_COOKIE_SECURE),
    )
    return before == who


def last_person(request: HttpRequest) -> str:
    """Who came in last on this device, as noted by device_noted; empty where nobody did."""
    return str(request.get_signed_cookie(LAST_PERSON_COOKIE, default="", salt=LAST_PERSON_COOKIE))


def sign_out(request: HttpRequest, response: HttpResponse) -> None:
    """End the session on this device and empty everything that it kept."""
    device = device_of(request)
    if device is not None:
        device.delete()
    request.session.flush()
    response.headers["Clear-Site-Data"] = CLEAR_ALL


def device_name(user_agent: str) -> str:
    """A name people recognise a device by, from what its browser says; never more than its make of system."""
    for mark, name in DEVICE_NAMES:
        if mark in user_agent:
            return name
    return "device"


def client_address(request: HttpRequest) -> str | None:
    """The address of whoever asks, or None where it is unknown (a socket).

    Only a proxy named in TRUSTED_PROXIES is believed about whom it forwards, so nobody hides behind a typed header.
    """
    address = request.META.get("REMOTE_ADDR", "")
    hops = [hop.strip() for hop in request.headers.get("X-Forwarded-For", "").split(",")]
    while hops and address in settings.TRUSTED_PROXIES:
        address = hops.pop()
    try:
        return str(ip_address(address))
    except ValueError:
        return None


def client_network(request: HttpRequest) -> str:
    """What whoever asks can hardly change: the IPv4 address, or the /64 that an IPv6 line is given (RFC 6177)."""
    address = client_address(request)
    if address is None or not isinstance(ip_address(address), IPv6Address):
        return address or ""
    return str(ip_network(f"{address}/64", strict=False))
