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
from participants.wording import device_words

LANGUAGES = ("en", "de", "es")


def public_address(path: str, request: HttpRequest | None = None) -> str:
    """A path of this site as people reach it from elsewhere; without PUBLIC_URL as the request reached it."""
    if not settings.PUBLIC_URL and request is not None:
        return request.build_absolute_uri(path)
    return f"{settings.PUBLIC_URL}{path}"


def language_of(person: Participant) -> str:
    """The language a person's mails are written in."""
    return person.language if person.language in LANGUAGES else "en"


def mail_send(*, person: Participant, template: str, context: Mapping[str, Any]) -> bool:
    """Send `templates/{template}_{language}` (.subject.txt, .txt, .html); False for a person without an address."""
    if not person.email:
        return False
    base = f"{template}_{language_of(person)}"
    values = {"person": person, "language": language_of(person), **context}
    subject = " ".join(render_to_string(f"{base}.subject.txt", values).split())
    message = EmailMultiAlternatives(subject, render_to_string(f"{base}.txt", values), to=[person.email])
    message.attach_alternative(render_to_string(f"{base}.html", values), "text/html")
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
    context = {
        "device": device_words(name, language_of(person)),
        "at": at,
        "zone": zone,
        "address": public_address(reverse("participants:device-list", args=[person.uuid])),
        "leader": leader_name(person),
    }
    return mail_send(person=person, template="participants/mail/device", context=context)


def leader_name(person: Participant) -> str:
    """How the person's leader is called."""
    return person.leader.get_full_name() or person.leader.get_username()
