"""What the log holds: a line or a JSON object an event, in UTC, with the number of its request and no secret.

A number leads from an error page to its lines. Names, health notes and form values are never logged by this code;
what a library or an address could bring along (mail addresses, sign-in and calendar addresses) is taken out here.
"""

import json
import logging
import re
import time
from typing import ClassVar

from django.conf import settings
from django.core.mail import mail_admins
from django_guid import get_guid

from trips.services.busy import is_busy, is_unwritable

_MAIL_ADDRESS = re.compile(r"[\w.+%-]+@[\w-]+(?:\.[\w-]+)*")
_SECRET_ADDRESS = re.compile(r"(/(?:in|calendar|password/new)/)(?!open/)[^\s\"']+")
LINE = "%(asctime)s %(levelname)s %(name)s %(request_number)s %(message)s"
MAIL_PAUSE_S = 600.0  # one break met by everybody is one mail, not hundreds


def redacted(text: str) -> str:
    """The text without mail addresses and without the secret part of addresses that sign in or open a calendar."""
    return _SECRET_ADDRESS.sub(r"\1...", _MAIL_ADDRESS.sub("...", text))


class RequestNumber(logging.Filter):
    """Gives each record the number of the request it belongs to, or a dash."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_number = get_guid() or "-"
        return True


class TroubleInWords(logging.Filter):
    """A full disk or a busy database is no fault of the code: its sentence leads nowhere better with a traceback."""

    def filter(self, record: logging.LogRecord) -> bool:
        error = record.exc_info[1] if record.exc_info else None
        if is_unwritable(error) or is_busy(error):
            full = "nothing can be saved, the disk is full or only reads"
            trouble = "the database is busy" if is_busy(error) else full
            record.msg, record.args = f"{record.getMessage()} ({trouble})", ()
            record.exc_info = record.exc_text = None
        return True


class LineFormatter(logging.Formatter):
    """A line for people."""

    converter = staticmethod(time.gmtime)

    def format(self, record: logging.LogRecord) -> str:
        return redacted(super().format(record))


class ObjectFormatter(LineFormatter):
    """A JSON object for programs that collect logs. Nothing that a caller adds to a record comes along unseen."""

    def format(self, record: logging.LogRecord) -> str:
        event = {
            "time": self.formatTime(record, self.datefmt),
            "level": record.levelname,
            "logger": record.name,
            "request": getattr(record, "request_number", "-"),
            "message": redacted(record.getMessage()),
        }
        if record.exc_info:
            event["traceback"] = redacted(self.formatException(record.exc_info))
        return json.dumps(event, ensure_ascii=False)


class BreakMail(logging.Handler):
    """Mails an error to ADMINS, the same one at most every MAIL_PAUSE_S seconds; no request data, no form values."""

    told_at: ClassVar[dict[tuple[str, int], float]] = {}

    def emit(self, record: logging.LogRecord) -> None:
        if not settings.ADMINS:
            return
        place, now_s = self._place(record), time.monotonic()
        if now_s - self.told_at.get(place, -MAIL_PAUSE_S) < MAIL_PAUSE_S:
            return
        self.told_at[place] = now_s
        number = getattr(record, "request_number", "-")
        mail_admins(f"Something broke, number {number}", self.format(record), fail_silently=True)

    @staticmethod
    def _place(record: logging.LogRecord) -> tuple[str, int]:
        """The last line of code of the traceback, or where the record was made."""
        trace = record.exc_info[2] if record.exc_info else None
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        return (trace.tb_frame.f_code.co_filename, trace.tb_lineno) if trace else (record.pathname, record.lineno)


def logging_settings(level: str, shape: str) -> dict[str, object]:
    """Django's LOGGING. `level`: from which level on; `shape`: "line" or "json"."""
    maker = {"line": "LineFormatter", "json": "ObjectFormatter"}[shape]
    formatter = {"()": f"config.logs.{maker}", "format": LINE, "datefmt": "%Y-%m-%dT%H:%M:%SZ"}
    either: dict[str, object] = {"formatter": shape, "filters": ["request_number", "trouble_in_words"]}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {
            "request_number": {"()": "config.logs.RequestNumber"},
            "trouble_in_words": {"()": "config.logs.TroubleInWords"},
        },
        "formatters": {shape: formatter},
        "handlers": {
            "console": {"class": "logging.StreamHandler", "stream": "ext://sys.stderr"} | either,
            "breaks": {"class": "config.logs.BreakMail", "level": "ERROR"} | either,
        },
        "root": {"handlers": ["console", "breaks"], "level": level},
        # Django's own handlers would print each line twice and mail the whole request.
        "loggers": {
            "django": {"handlers": [], "propagate": True},
            "django_guid": {"level": "ERROR"},  # it warns of each odd header that a stranger sends
            "fairhide.security": {"level": "INFO"},
        },
    }
