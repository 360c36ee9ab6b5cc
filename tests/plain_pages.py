"""Pages as a reader gets them: white space that no browser shows says nothing, so templates may break their lines."""

import re
from typing import Any

from django.test import Client

BLOCKS = rb"p|li|ul|ol|dl|dt|dd|td|th|tr|h[1-4]|div|section|summary|legend|caption|option|main|nav|title"
SHOWN_AS_TYPED = re.compile(rb"<(?:textarea|pre)\b")


def without_hidden_space(page: bytes) -> bytes:
    """The page with every run of white space as one, and none at the beginning and end of a block."""
    if SHOWN_AS_TYPED.search(page):
        return page
    text = re.sub(rb"\s+", b" ", page)
    opened = re.sub(rb"(<(?:" + BLOCKS + rb")\b(?:\"[^\"]*\"|[^<>\"])*>) ", rb"\1", text)
    return re.sub(rb" (</(?:" + BLOCKS + rb")>)", rb"\1", opened)


def read_plainly() -> None:
    """Let every test's browser without Chromium read pages in this way."""
    asked = Client.request

    def request(self: Client, **environment: Any) -> Any:
        answer = asked(self, **environment)
        if not answer.streaming and answer.headers.get("Content-Type", "").startswith("text/html"):
            answer.content = without_hidden_space(answer.content)
        return answer

    Client.request = request  # type: ignore[method-assign]
