"""Chromium for tests of whole pages. Every page is watched: a script error, a refused style, a request to another
host or a break on the server fails the test that opened it."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.base import AXE_SCRIPT, AxeResults
from django.contrib.auth.models import AbstractBaseUser
from django.db import connection
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from participants.models import Participant
from participants.services import device_add
from participants.session_store import SessionStore
from tests.browser.page_watch import PageWatch
from tests.browser.participant_phone import one_server, phone, server  # noqa: F401

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
WIDE, PHONE = (1200, 900), (360, 740)
SCROLLS_SIDEWAYS = """
    () => [...document.querySelectorAll(".table-scroll")]
        .filter((box) => box.scrollWidth > box.clientWidth + 1 && !box.querySelector("svg.drawing-year"))
        .map((box) => box.getAttribute("aria-label"))
"""
ROOT = Path(__file__).resolve().parents[2]
expect.set_options(timeout=15_000)  # what is expected is waited for; a busy machine is no fault of a page

OpenContext = Callable[..., BrowserContext]


@pytest.fixture(scope="session", autouse=True)
def _loop_in_the_thread_of_the_test() -> None:
    """Playwright's loop runs in the thread of the test; set here, so that no other test's programs inherit it."""
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, one for the run."""
    with sync_playwright() as playwright:
        browser = _launch(playwright)
        yield browser
        browser.close()


@pytest.fixture
def open_context(chromium: Browser, live_server) -> Iterator[OpenContext]:
    """Open a browser of somebody: `open_context(user=None, person=None, size=WIDE, **playwright's options)`."""
    contexts: list[BrowserContext] = []
    watches: list[PageWatch] = []

    def opened(
        user: AbstractBaseUser | None = None,
        person: Participant | None = None,
        size: tuple[int, int] = WIDE,
        **options,
    ) -> BrowserContext:
        context = chromium.new_context(
            base_url=live_server.url, viewport={"width": size[0], "height": size[1]}, **options
        )
        context.on("page", lambda page: watches.append(PageWatch(page, urlsplit(live_server.url).netloc)))
        if user is not None:
            sign_in(context, live_server.url, user)
        if person is not None:
            sign_in_person(context, live_server.url, person)
        contexts.append(context)
        return context

    yield opened
    for context in contexts:
        context.close()
    troubles = [trouble for watch in watches for trouble in watch.troubles()]
    assert not troubles, "\n".join(troubles)


@pytest.fixture
def open_page(open_context: OpenContext) -> Callable[..., Page]:
    """A page in a browser of its own: `open_page("/path/", user=None, size=PHONE, ...)`."""

    def opened(path: str, **options) -> Page:
        page = open_context(**options).new_page()
        page.goto(path)
        return page

    return opened


@pytest.fixture
def worker(live_server) -> Iterator[subprocess.Popen[bytes]]:
    """The worker that `script/demo` and a service start, on the database file of the test."""
    assert connection.vendor == "sqlite", "tests of pages run on SQLite"
    environment = {
        "PATH": os.environ["PATH"],
        "DATABASE_URL": f"sqlite:///{connection.settings_dict['NAME']}",
        "SECRET_KEY": "a key of a test, long enough for the check: 0123456789abcdef",
        "ALLOWED_HOSTS": "localhost",
        "EMAIL_URL": "dummymail://",
    }
    command = [sys.executable, "manage.py", "db_worker", "--interval", "0.2", "--no-startup-delay"]
    process = subprocess.Popen(command, cwd=ROOT, env=environment)
    yield process
    process.terminate()
    try:
        process.wait(timeout=20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(timeout=20)


def sign_in(context: BrowserContext, address: str, user: AbstractBaseUser) -> None:
    """Give the browser the session of a leader, as if signed in."""
    client = Client()
    client.force_login(user)
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": address}])


def sign_in_person(context: BrowserContext, address: str, person: Participant) -> None:
    """Give the browser the session of a participant, as if let in by their link."""
    session = SessionStore()
    session["participant"] = str(person.uuid)
    session.create()
    device_add(person=person, session_key=session.session_key, name="test")
    context.add_cookies([{"name": "sessionid", "value": session.session_key, "url": address}])


def assert_accessible(page: Page) -> None:
    """No rule of WCAG 2.2 A and AA that a program can check is broken."""
    found = axe_report(page, {"type": "tag", "values": WCAG})
    assert not found, found


def axe_report(page: Page, rules: dict) -> str:
    """What these rules of axe find on the page as it stands, in words; empty where nothing is wrong.

    The script is taken into a page once, and what is in order is not listed: both take longer than most rules.
    """
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    options = {"runOnly": rules, "resultTypes": ["violations"]}
    found = AxeResults(page.evaluate("options => axe.run(options)", options))
    return found.generate_report() if found.violations_count else ""


def assert_fits(page: Page) -> None:
    """Nothing makes the page wider than its window; a wide table scrolls in its own box, on a phone only a drawing."""
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px wider than its window"
    if (page.viewport_size or {"width": 0})["width"] <= PHONE[0]:
        boxes = page.evaluate(SCROLLS_SIDEWAYS)
        assert boxes == [], f"{page.url} scrolls sideways in {boxes}"


def assert_thumb_sized(page: Page) -> None:
    """Buttons, fields and links of navigation are at least 44 px high (WCAG 2.5.8 asks 24)."""
    small = page.evaluate(
        """() => [...document.querySelectorAll(
            "button, .btn, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select, nav a")]
            .map(node => [node.getBoundingClientRect(), node.textContent.trim() || node.name])
            .filter(([box]) => box.height > 0 && box.height < 43.5)
            .map(([box, name]) => `${name}: ${box.height}`)"""
    )
    assert not small, f"{page.url}: {small}"


def _launch(playwright: Playwright) -> Browser:
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    assert program, "Chromium is missing: run script/bootstrap --dev"
    options = ["--no-sandbox"] if os.geteuid() == 0 else []
    return playwright.chromium.launch(executable_path=program, args=options)
