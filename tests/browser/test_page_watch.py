"""The watch over pages tells what a person causes by going on from a real fault."""

from collections.abc import Callable

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Page, Route

from tests.browser.page_waiting import page_until
from tests.browser.page_watch import PageWatch

HOUSE = "http://house.test"
PAGE = f"""<!doctype html><title>A drawing</title><script src="{HOUSE}/htmx.js"></script>
<form hx-get="/drawing" hx-trigger="input" hx-sync="this:replace"><input name="size"></form><a href="/next">Go on</a>"""


@pytest.fixture
def page(chromium: Browser):
    """A page that asks for a drawing at each key, which never comes."""
    context = chromium.new_context(base_url=HOUSE)
    context.route("**/*", lambda route: _answer(route))
    page = context.new_page()
    yield page
    context.close()


def _answer(route: Route) -> None:
    path = route.request.url.removeprefix(HOUSE)
    if path == "/htmx.js":
        route.fulfill(path=str(settings.PACKAGED_ASSETS["htmx/htmx.min.js"]))
    elif path == "/broken":
        route.abort("connectionrefused")
    elif not path.startswith("/drawing"):
        route.fulfill(body=PAGE, content_type="text/html")


@pytest.fixture
def watch(page: Page) -> PageWatch:
    watch = PageWatch(page, "house.test")
    page.goto("/")
    with page.expect_request("**/drawing*"):
        page.fill("input", "600")
    return watch


def break_off(page: Page, then: str = "") -> None:
    """The page's window stops what it asks for, and perhaps goes on."""
    page.evaluate("(next) => { window.stop(); if (next) window.location.assign(next); }", then)


def test_a_drawing_broken_off_by_the_next_page_is_no_fault(page: Page, watch: PageWatch) -> None:
    with page.expect_event("console", lambda message: "htmx:sendAbort" in message.text):
        break_off(page, then="/next")
    page.wait_for_url("**/next")
    assert watch.troubles() == []


def test_a_drawing_that_gives_way_to_a_newer_one_is_no_fault(page: Page, watch: PageWatch) -> None:
    with page.expect_event("console", lambda message: "htmx:sendAbort" in message.text):
        page.fill("input", "800")
    page.goto("/next")
    assert watch.troubles() == []


@pytest.mark.parametrize(
    ("act", "trouble"),
    [
        (break_off, "htmx:sendAbort"),
        (lambda page: page.evaluate("htmx.ajax('GET', '/broken', 'form').catch(() => {})"), "htmx:sendError"),
        (lambda page: page.evaluate("setTimeout(() => { throw new Error('a slip'); })"), "a slip"),
        (lambda page: page.evaluate("console.error('a word of caution')"), "a word of caution"),
        (lambda page: page.evaluate("new Image().src = 'http://elsewhere.test/'"), "asked http://elsewhere.test/"),
    ],
)
def test_a_real_fault_is_told(page: Page, watch: PageWatch, act: Callable[[Page], object], trouble: str) -> None:
    act(page)
    page_until(page, lambda: any(trouble in told for told in watch.troubles()), what=trouble)
    page.evaluate("console.error('the last word')")  # what was said before it has been heard with it
    page_until(page, lambda: any("the last word" in told for told in watch.troubles()), what="the last word")
    assert [trouble in told for told in watch.troubles() if "the last word" not in told] == [True]
