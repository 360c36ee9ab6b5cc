"""Mails to participants: text and simple HTML, in the person's language."""

import smtplib
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Self

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from participants.models import Participant
from participants.wording import device_words

LANGUAGES = ("en", "de", "es")


class MailNotSent(OSError):
    """A mail that no server took. `fault`: what was refused and the server's code, as "address 550".

    It is the address, the content, the sender (this site), or "away" where nobody answered. `for_good`: another try
    is of no use (RFC 5321 section 4.2.1: codes from 500); what is said of this site may be mended meanwhile.
    """

    def __init__(self, kind: str, code: int = 0, *, for_good: bool = False) -> None:
        self.fault, self.for_good = f"{kind} {code}", for_good
        super().__init__(self.fault)

    @classmethod
    def because(cls, error: OSError) -> Self:
        """What an error of the mail's way means."""
        if isinstance(error, smtplib.SMTPRecipientsRefused):
            code = max(code for code, _ in error.recipients.values())
            return cls("address", code, for_good=code >= 500)
        if isinstance(error, smtplib.SMTPNotSupportedError):  # letters in the address that the server cannot read
            return cls("address", for_good=True)
        code = getattr(error, "smtp_code", 0)
        if isinstance(error, smtplib.SMTPDataError):
            return cls("content", code, for_good=code >= 500)
        return cls("sender" if code >= 500 else "away", code)


def public_address(path: str, request: HttpRequest | None = None) -> str:
    """A path of this site as people reach it from elsewhere; without PUBLIC_URL as the request reached it."""
    if not settings.PUBLIC_URL and request is not None:
        return request.build_absolute_uri(path)
    return f"{settings.PUBLIC_URL}{path}"


def language_of(person: Participant) -> str:
    """The language a person's mails are written in."""
    return person.language if person.language in LANGUAGES else "en"


def mail_send(*, person: Participant, template: str, context: Mapping[str, Any]) -> bool:
    """Send `templates/{template}_{language}` (.subject.txt, .txt, .html); False for a person without an address.

    Raises MailNotSent.
    """
    if not person.email:
        return False
    base = f"{template}_{language_of(person)}"
    values = {"person": person, "language": language_of(person), **context}
    subject = " ".join(render_to_string(f"{base}.subject.txt", values).split())
    message = EmailMultiAlternatives(subject, render_to_string(f"{base}.txt", values), to=[person.email])
    message.attach_alternative(render_to_string(f"{base}.html", values), "text/html")
    message.extra_headers["Auto-Submitted"] = "auto-generated"
    try:
        message.send()
    except OSError as error:
        raise MailNotSent.because(error) from error
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
