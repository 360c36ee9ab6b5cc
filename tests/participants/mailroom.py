"""A real mail server on a free port of this machine, and what it received."""

import asyncio
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from django.test import override_settings


class Letterbox:
    """Keeps what arrives; refuses the addresses in `refused`, and those in `busy` for a while.

    `most`: a mail beyond so many is never answered.
    """

    def __init__(self, port: int = 0) -> None:
        self.port = port
        self.mails: list[EmailMessage] = []
        self.refused: set[str] = set()
        self.busy: set[str] = set()
        self.most: int | None = None
        self.kept_waiting = threading.Event()

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if address in self.refused:
            return "550 no such mailbox"
        if address in self.busy:
            return "451 try later"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.most is not None and len(self.mails) >= self.most:
            self.kept_waiting.set()
            await asyncio.Event().wait()
        self.mails.append(message_from_bytes(envelope.content, policy=policy.default))
        return "250 taken"

    def text(self, index: int = -1) -> str:
        """The plain part of a mail."""
        return self.mails[index].get_body(("plain",)).get_content()

    def html(self, index: int = -1) -> str:
        """The HTML part of a mail."""
        return self.mails[index].get_body(("html",)).get_content()


def free_port() -> int:
    """A port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def open_mailroom() -> Iterator[Letterbox]:
    """Django's SMTP backend, pointed at a server that really listens."""
    port = free_port()
    box = Letterbox(port)
    controller = Controller(box, hostname="127.0.0.1", port=port)
    controller.start()
    settings = {
        "EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend",
        "EMAIL_HOST": "127.0.0.1",
        "EMAIL_PORT": port,
        "EMAIL_HOST_USER": "",
        "EMAIL_USE_TLS": False,
        "EMAIL_USE_SSL": False,
    }
    try:
        with override_settings(**settings):
            yield box
    finally:
        controller.stop()
