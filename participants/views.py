"""Signing in of participants: ask for a link, open it, sign out; and the leader's page that hands it over."""

import smtplib
import uuid

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from participants import access, selectors, services, tokens
from participants.access import PersonRequest, in_readers_language, kept_page
from participants.core.language import gettext as _
from participants.forms import LinkAskForm, LinkCodeForm, LinkPressForm
from participants.mail import public_address
from participants.speaking import speaking
from participants.tasks import link_request_send

DEAD_STATUS = {"unknown": 404, "too_many": 429}  # the others were once right: 410


def _dead_link_page(request: HttpRequest, refused: services.LinkRefused) -> HttpResponse:
    """What happened to a link, and how to get a new one. Says nothing of whose it was."""
    context = {"reason": refused.reason, "until": refused.data.get("until"), "form": LinkAskForm()}
    context["most_devices"] = services.HANDED_DEVICES
    status = DEAD_STATUS.get(refused.reason, 410)
    return render(request, "participants/link_dead.html", context, status=status)


def _sign_in_page(request: HttpRequest, form: LinkPressForm, owner_uuid: uuid.UUID) -> HttpResponse:
    """The page with one button; it says whom the press would sign out of this device."""
    person = access.person_of(request)
    other = request.user.get_username() if request.user.is_authenticated else ""
    if person is not None and person.uuid != owner_uuid:
        other = person.name
    with speaking(selectors.language_of_owner(owner_uuid)):
        return render(request, "participants/link_open.html", {"form": form, "other": other})


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@in_readers_language
def link_ask(request: HttpRequest) -> HttpResponse:
    """Ask for a fresh link by mail. The answer is the same whether or not anybody has that address."""
    form = LinkAskForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        email = form.cleaned_data["email"]
        if services.asking_is_free(network=access.client_network(request)):
            if services.mail_is_free(purpose="ask", email=email):
                link_request_send.enqueue(email)
            return render(request, "participants/link_asked.html", {"email": email})
        wait = _("Too many links were asked for from your network. Try again in an hour, or ask your leader.")
        form.add_error(None, wait)
    context = {"form": form, "elsewhere": access.SIGNED_OUT in request.GET, "signed_in": access.person_of(request)}
    return render(request, "participants/link_ask.html", context)


@never_cache
@require_safe
@in_readers_language
def link_open(request: HttpRequest, token: str) -> HttpResponse:
    """The page behind a link: one button. Looking at it opens and spends nothing, whoever or whatever looks."""
    try:
        link = services.link_check(token, kinds=services.SIGN_IN_KINDS)
    except services.LinkRefused as refused:
        return _dead_link_page(request, refused)
    form_class = LinkCodeForm if link.kind == "mail" else LinkPressForm
    return _sign_in_page(request, form_class(initial={"token": token}), link.owner_uuid)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@in_readers_language
def link_press(request: HttpRequest) -> HttpResponse:
    """Come in: the only request that opens a session. Whoever just looks is led to the sign-in page."""
    if request.method != "POST":
        return redirect("participants:link-ask")
    address = tokens.token_read(request.POST.get("token", ""))
    form = (LinkCodeForm if address and address.kind == "mail" else LinkPressForm)(request.POST)
    if address is None or not form.is_valid():
        dead = services.LinkRefused(reason="unknown")
        return _dead_link_page(request, dead) if address is None else _sign_in_page(request, form, address.owner_uuid)
    try:
        person = services.link_press(token=form.cleaned_data["token"], code=form.cleaned_data.get("code", ""))
    except services.LinkRefused as refused:
        if refused.reason != "wrong_code":
            return _dead_link_page(request, refused)
        form.add_error("code", _("These are not the digits of that mail. Look for the newest mail and try again."))
        return _sign_in_page(request, form, address.owner_uuid)
    response = redirect("trips:my-start", person_uuid=person.uuid)
    access.sign_in(request, response, person)
    return response


@require_safe
@in_readers_language
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps a participant's pages; served from the root, so that it may look after all of them."""
    response = render(request, "participants/service-worker.js", content_type="text/javascript; charset=utf-8")
    response.headers["Cache-Control"] = "no-cache"
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@in_readers_language
def participant_sign_out(request: HttpRequest) -> HttpResponse:
    """End the session on this device; the page that answers empties what a browser without the header kept.

    Whoever just looks is led to the sign-in page, and stays signed in.
    """
    if request.method != "POST":
        return redirect("participants:link-ask")
    response = render(request, "participants/signed_out.html")
    access.sign_out(request, response)
    return response


@require_safe
@kept_page
def device_list(request: PersonRequest) -> HttpResponse:
    """Where a person is signed in, and which links still open."""
    here = access.device_of(request)
    live = {kind: link for kind, link in selectors.links_of(request.person).items() if selectors.link_is_live(link)}
    devices = selectors.devices_of(request.person)
    fresh = selectors.devices_new(devices, here=here, now=timezone.now())
    zone = request.time_zone or "UTC"
    context = {"devices": devices, "fresh": fresh, "here": here, "links": live, "zone": zone}
    return render(request, "participants/device_list.html", context)


@require_POST
@kept_page
def device_revoke(request: PersonRequest, device_uuid: uuid.UUID) -> HttpResponse:
    """Sign out one device of a person."""
    services.device_revoke(device=selectors.device_of_person(person=request.person, device_uuid=device_uuid))
    messages.success(request, _("That device is signed out. What it keeps is emptied when it next has a network."))
    return redirect("participants:device-list", person_uuid=request.person.uuid)


@require_POST
@kept_page
def my_links_revoke(request: PersonRequest) -> HttpResponse:
    """A person ends every link to their own pages; devices that are signed in stay so."""
    services.links_revoke(person=request.person)
    messages.success(request, _("No link opens your pages any more. Ask for a new one when you need it."))
    return redirect("participants:device-list", person_uuid=request.person.uuid)


@require_safe
@login_required
def sign_in_link_show(request: HttpRequest, person_uuid: uuid.UUID) -> HttpResponse:
    """The leader's page of a sign-in link: what was sent, what was handed over, which devices are signed in."""
    person = selectors.participant_for_leader(user=request.user, person_uuid=person_uuid)
    links = selectors.links_of(person)
    devices = selectors.devices_of(person)
    now = timezone.now()
    fresh = selectors.devices_new(devices, here=None, now=now)
    zone = selectors.zone_of(person.places.all(), today=now.date()) or "UTC"
    context = {"person": person, "links": links, "devices": devices, "fresh": fresh, "zone": zone}
    context["most_devices"] = services.HANDED_DEVICES
    handed = links.get("handed")
    if handed is not None and selectors.link_is_live(handed):
        token = tokens.address_token(kind="handed", owner_uuid=person.uuid, counter=handed.counter)
        context["handed_address"] = public_address(f"/in/{token}/", request)
    return render(request, "participants/sign_in_link_show.html", context)


@require_POST
@login_required
def sign_in_link_mail(request: HttpRequest, person_uuid: uuid.UUID) -> HttpResponse:
    """Mail a person a fresh link, and say at once when the mail server refuses."""
    person = selectors.participant_for_leader(user=request.user, person_uuid=person_uuid)
    try:
        services.link_send(person=person)
    except (OSError, smtplib.SMTPException):
        messages.error(request, f"The mail to {person} was not sent. Check the address, or hand the link over.")
    else:
        messages.success(request, f"A link and its code are on their way to {person.email}.")
    return redirect("participants:sign-in-link-show", person_uuid=person.uuid)


@require_POST
@login_required
def sign_in_link_hand(request: HttpRequest, person_uuid: uuid.UUID) -> HttpResponse:
    """Make a link that the leader passes on by hand."""
    person = selectors.participant_for_leader(user=request.user, person_uuid=person_uuid)
    services.link_hand_over(person=person)
    messages.success(request, "Copy the new link and give it to nobody else: a press opens it.")
    return redirect("participants:sign-in-link-show", person_uuid=person.uuid)


@require_POST
@login_required
def sign_in_link_revoke(request: HttpRequest, person_uuid: uuid.UUID) -> HttpResponse:
    """End every link of a person, and sign out all devices where asked."""
    person = selectors.participant_for_leader(user=request.user, person_uuid=person_uuid)
    services.links_revoke(person=person)
    if "devices" in request.POST:
        services.devices_revoke(person=person)
    messages.success(request, f"No link of {person} works any more.")
    return redirect("participants:sign-in-link-show", person_uuid=person.uuid)
