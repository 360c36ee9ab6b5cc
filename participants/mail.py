"""Mails to participants: text and simple HTML, in the person's language."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from participants.models import Participant
from participants.speaking import language_of, speaking
from participants.wording import device_words


def public_address(path: str, request: HttpRequest | None = None) -> str:
    """A path of this site as people reach it from elsewhere; without PUBLIC_URL as the request reached it."""
    if not settings.PUBLIC_URL and request is not None:
        return request.build_absolute_uri(path)
    return f"{settings.PUBLIC_URL}{path}"


def mail_send(*, person: Participant, template: str, context: Mapping[str, Any]) -> bool:
    """Send `templates/{template}` (.subject.txt, .txt, .html) in the person's language; False without an address."""
    if not person.email:
        return False
    values = {"person": person, **context}
    with speaking(language_of(person)):
        subject, text, html = (
            render_to_string(f"{template}.{kind}", values) for kind in ("subject.txt", "txt", "html")
        )
    message = EmailMultiAlternatives(" ".join(subject.split()), text, to=[person.email])
    message.attach_alternative(html, "text/html")
    message.extra_headers["Auto-Submitted"] = "auto-generated"
    message.send()
    return True


def link_mail_send(*, person: Participant, token: str, code: str, days: int) -> bool:
    """The mail with the sign-in link and its six-digit code."""
    address = public_address(reverse("participants:link-open", args=[token]))
    context = {"address": address, "code": code, "days": days, "leader": leader_name(person)}
    return mail_send(person=person, template="participants/mail/link", context=context)


def device_mail_send(*, person: Participant, name: str, at: datetime, zone: str) -> bool:
    """The mail that tells of a new device: which kind, when by the clock of `zone`, and what to do."""
    with speaking(language_of(person)):
        device = device_words(name)
    context = {
        "device": device,
        "at": at,
        "zone": zone,
        "address": public_address(reverse("participants:device-list", args=[person.uuid])),
        "leader": leader_name(person),
    }
    return mail_send(person=person, template="participants/mail/device", context=context)


def leader_name(person: Participant) -> str:
    """How the person's leader is called."""
    return person.leader.get_full_name() or person.leader.get_username()
