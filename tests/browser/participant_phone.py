"""A participant's phone over a real server: a browser of that size, coming in, what it keeps, a network that goes.

The fixtures `server` and `phone` reach every test here through conftest.py.
"""

import contextlib
import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from urllib.request import urlopen

import pytest
from django.conf import settings as django_settings
from django.db import connection
from playwright.sync_api import BrowserContext, Page, expect

from participants import services
from tests.waiting import until

TIMEOUT_MS = 20_000
PHONE = {
    "viewport": {"width": 360, "height": 740},
    "device_scale_factor": 3,
    "is_mobile": True,
    "has_touch": True,
    "timezone_id": "Europe/Madrid",
    "user_agent": "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0 Mobile",
}


class Server:
    """gunicorn at one address over the test's database, stopped and started again as a real one is."""

    def __init__(self) -> None:
        self.port = 0
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}"

    def start(self) -> None:
        if self.process is not None:
            return
        with socket.create_server(("127.0.0.1", self.port)) as door:  # taken here, so nobody takes it meanwhile
            self.port = door.getsockname()[1]
            self.process = self._serve(door.fileno())
        try:
            until(self._answers, within_s=120, what="the server answers")
        except BaseException:
            self.stop()
            raise

    def _answers(self) -> bool:
        assert self.process is not None
        assert self.process.poll() is None, "the server does not start"
        with contextlib.suppress(OSError), urlopen(f"{self.url}/in/", timeout=30):
            return True
        return False

    def _serve(self, door: int) -> subprocess.Popen[bytes]:
        options = ["--threads", "6", "--bind", f"fd://{door}", "--log-level", "error"]
        return subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "config.wsgi", *options],
            cwd=django_settings.BASE_DIR,
            env=self.settings(),
            pass_fds=[door],
        )

    def settings(self) -> dict[str, str]:
        database = connection.settings_dict
        assert database["ENGINE"].endswith("sqlite3"), "browser tests run over SQLite"
        own = {"SECRET_KEY": django_settings.SECRET_KEY, "DATABASE_URL": f"sqlite:///{database['NAME']}", "DEBUG": "1"}
        here = {name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"}
        return here | own | {"PUBLIC_URL": self.url}

    def stop(self) -> None:
        if self.process is not None:
            self.process.terminate()
            self.process.wait(timeout=30)
            self.process = None


@pytest.fixture(scope="module")
def one_server() -> Iterator[Server]:
    server = Server()
    yield server
    server.stop()


@pytest.fixture
def server(transactional_db, one_server) -> Server:
    one_server.start()
    return one_server


@pytest.fixture
def phone(chromium, server) -> Iterator[BrowserContext]:
    context = chromium.new_context(base_url=server.url, **PHONE)
    context.set_default_timeout(TIMEOUT_MS)
    yield context
    context.close()


def come_in(phone: BrowserContext, person) -> Page:
    """Press the link that the leader handed over."""
    page = phone.new_page()
    page.goto(f"/in/{services.link_hand_over(person=person)}/")
    page.get_by_role("button", name="Open my pages").click()
    page.wait_for_url("**/days/")
    return page


def wait_for_pack(page: Page) -> None:
    """Everything that is kept for the time without a network has arrived."""
    expect(page.locator("html")).to_have_attribute("data-pack", re.compile("."), timeout=90_000)


def offline_at(phone: BrowserContext, person, name: str) -> Page:
    """One of a person's own pages, opened after everything was kept; then the network goes."""
    page = come_in(phone, person)
    wait_for_pack(page)
    page.goto(own(name, person))
    phone.set_offline(True)
    return page


def kept_paths(page: Page) -> list[str]:
    """All that this browser keeps, by cache and path."""
    return page.evaluate(
        """async () => {
            const found = [];
            for (const name of await caches.keys())
                for (const request of await (await caches.open(name)).keys())
                    found.push(name + " " + new URL(request.url).pathname);
            return found;
        }"""
    )


def kept_text(page: Page) -> str:
    """Every word that this browser keeps of pages, in one text."""
    return page.evaluate(
        """async () => {
            let text = "";
            for (const name of await caches.keys()) {
                const cache = await caches.open(name);
                for (const request of await cache.keys())
                    if (!request.url.includes("/static/")) text += await (await cache.match(request)).text();
            }
            return text;
        }"""
    )


def waiting_forms(page: Page) -> list[dict]:
    """All forms that wait in this browser, of whomever."""
    return page.evaluate(
        """async () => {
            const { formStore } = await import("/static/participants/form_store.js");
            return formStore("fairhide").all();
        }"""
    )


def own(name: str, person) -> str:
    return f"/my/{person.uuid}/{name}"


def open_more(page: Page) -> None:
    """Unfold what stands under the last tab: further pages, colours, signing out."""
    page.get_by_role("button", name="More", exact=True).click()


def state(page: Page):
    return page.locator("#phone-state")


def reconnect(phone: BrowserContext, page: Page) -> None:
    """The network is back, and the browser says so."""
    phone.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
