"""What goes wrong on a page while a test looks at it: script errors, refused styles, other hosts, broken answers."""

from urllib.parse import urlsplit

from playwright.sync_api import ConsoleMessage, Page, Request, Response

# htmx tells each failure twice, first by this name alone.
TOLD_TWICE = "htmx:afterRequest"
BROKEN_OFF = "htmx:sendAbort"
NOT_SENT = "htmx:sendError"
NO_NETWORK = "ERR_INTERNET_DISCONNECTED"


class PageWatch:
    """Listens to one page of `host`; `troubles()` tells what it heard.

    A person who goes on, to the next page or to a newer drawing, breaks off what the page still asked for: no fault.
    A request that is broken off with nothing in its place is one. What a page asks for while the test has taken the
    network away is none either.
    """

    def __init__(self, page: Page, host: str) -> None:
        self._page, self._host = page, host
        self._heard: list[str] = []
        self._broken_off: list[str] = []
        self._not_sent: list[str] = []
        self._lost = 0
        self._goes_on = False
        page.on("pageerror", lambda error: self._heard.append(f"{page.url}: {error}"))
        page.on("console", self._told)
        page.on("request", self._asked)
        page.on("requestfailed", self._failed)
        page.on("response", self._answered)
        page.on("domcontentloaded", self._arrived)

    def troubles(self) -> list[str]:
        """Everything that a page must not do."""
        return self._heard + self._broken_off + self._not_sent[self._lost :]

    def _told(self, message: ConsoleMessage) -> None:
        if message.type != "error" or message.text.startswith(TOLD_TWICE):
            return
        if message.text.startswith("Failed to load resource"):
            return  # a refused page (404, 403) may be what a test asks for
        if message.text.startswith(NOT_SENT):
            self._not_sent.append(f"{self._page.url}: {message.text}")
        elif not message.text.startswith(BROKEN_OFF):
            self._heard.append(f"{self._page.url}: {message.text}")
        elif not self._goes_on:
            self._broken_off.append(f"{self._page.url}: {message.text}")

    def _failed(self, request: Request) -> None:
        self._lost += NO_NETWORK in (request.failure or "")

    def _asked(self, request: Request) -> None:
        self._broken_off.clear()  # what comes now stands in its place
        self._goes_on = self._goes_on or request.is_navigation_request()
        parts = urlsplit(request.url)
        if parts.scheme in ("http", "https") and parts.netloc != self._host:
            self._heard.append(f"{self._page.url} asked {request.url}")

    def _answered(self, answer: Response) -> None:
        if answer.status >= 500:
            self._heard.append(f"{answer.url} answered {answer.status}")

    def _arrived(self, _page: Page) -> None:
        self._goes_on = False
