"""Uploads that are looked at in memory and never stored.

A request above a limit is refused by its announced length, and nothing of it is kept; of what is accepted only the
head is.
"""

from collections.abc import Callable
from functools import wraps
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import InMemoryUploadedFile
from django.core.files.uploadhandler import FileUploadHandler
from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from participants.queued import View, taken_once

ROOM_FOR_FIELDS = 64 * 1024  # what a form has beside its file
MOST_DRAINED = 256 * 1024 * 1024  # a long film; whoever sends more meets a broken line


class HeadHandler(FileUploadHandler):
    """Keeps the first bytes of a file in memory and lets the rest go."""

    chunk_size = 64 * 1024

    def __init__(self, request: HttpRequest | None = None, *, keep: int = 0) -> None:
        super().__init__(request)
        self.keep, self.head = keep, BytesIO()

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self.head = BytesIO()

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        if start < self.keep:
            self.head.write(raw_data[: self.keep - start])

    def file_complete(self, file_size: int) -> InMemoryUploadedFile:
        """The head as a file; its size is what was kept."""
        kept = self.head.tell()
        self.head.seek(0)
        return InMemoryUploadedFile(
            self.head, self.field_name, self.file_name, self.content_type, kept, self.charset, self.content_type_extra
        )


def upload_page(*, most: int, keep: int) -> Callable[[View], View]:
    """A page with a file: at most `most` bytes a request, of which `keep` of each file are looked at.

    Above that the page is shown again, as when it is opened, with `request.upload_refused` set and nothing kept. The
    outermost decorator of a view: the form token is checked only after the length.
    """

    def decorate(view: View) -> View:
        guarded = csrf_protect(taken_once(view))

        @csrf_exempt
        @wraps(view)
        def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            request.upload_refused = _length(request) > most + ROOM_FOR_FIELDS  # type: ignore[attr-defined]
            if request.upload_refused:  # type: ignore[attr-defined]
                _drain(request)
                request.method = "GET"
                return view(request, *args, **kwargs)
            request.upload_handlers = [HeadHandler(request, keep=keep)]
            return guarded(request, *args, **kwargs)

        return answer

    return decorate


def _drain(request: HttpRequest) -> None:
    """Let what was sent run off, so that the browser hears the answer instead of a broken line."""
    while _length(request) <= MOST_DRAINED and request.read(HeadHandler.chunk_size):
        continue


def _length(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0
