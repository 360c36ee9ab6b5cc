"""The demo as a person runs it: once, and served until it is stopped."""

import json
import os
import re
import signal
import socket
import subprocess
import urllib.parse
import urllib.request
from collections.abc import Iterator
from http.cookiejar import CookieJar, DefaultCookiePolicy
from pathlib import Path

import pytest
from django.urls import reverse
from pypdf import PdfReader

from tests.page_words import words_of
from tests.waiting import until

ROOT = Path(__file__).resolve().parent.parent
PATIENCE_S = 240
DEMO = json.loads((ROOT / "trips" / "demo" / "trip.json").read_text(encoding="utf-8"))
MOST_WORDS = {"rota-show": 500, "trip-light": 150, "hide-edit": 350, "gear-show": 200, "my-days": 250}


def clean_environment() -> dict[str, str]:
    kept = ("PATH", "HOME", "LANG", "PIP_CONFIG_FILE", "PIP_INDEX_URL")
    return {name: os.environ[name] for name in kept if name in os.environ}


def free_port() -> int:
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return tried.getsockname()[1]


@pytest.fixture(scope="module")
def served() -> Iterator[tuple[subprocess.Popen[str], int, str]]:
    """The demo, started on a port of its own; its process, port and what it printed until it served."""
    port = free_port()
    process = subprocess.Popen(
        ["script/demo", "--port", str(port)],
        cwd=ROOT,
        env=clean_environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    printed = ""
    assert process.stdout is not None
    for line in process.stdout:
        printed += line
        if "The site runs at" in line:
            break
    yield process, port, printed
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)


def answer(port: int, path: str) -> tuple[int, str]:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=20) as page:
        return page.status, page.read().decode()


def members_of(group: int) -> list[int]:
    """The processes of a group that still run."""
    found = []
    for folder in Path("/proc").iterdir():
        try:
            fields = (folder / "stat").read_text().rpartition(")")[2].split() if folder.name.isdigit() else []
        except OSError:
            continue
        if fields and int(fields[2]) == group and fields[0] != "Z":
            found.append(int(folder.name))
    return found


def workers_of(group: int) -> list[int]:
    """Those of them that are workers."""
    return [pid for pid in members_of(group) if b"db_worker" in Path(f"/proc/{pid}/cmdline").read_bytes()]


def signed_in(port: int, printed: str) -> urllib.request.OpenerDirector:
    """A browser in which the demo's leader is signed in."""
    policy = DefaultCookiePolicy(secure_protocols=("http", "https"))
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar(policy)))
    found = re.search(r"^Sign in as (\w+) with the password (\S+)$", printed, re.MULTILINE)
    assert found, printed
    address = f"http://127.0.0.1:{port}/sign-in/"
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', browser.open(address, timeout=60).read().decode())
    assert token
    form = {"username": found[1], "password": found[2], "csrfmiddlewaretoken": token[1]}
    browser.open(address, urllib.parse.urlencode(form).encode(), timeout=60)
    return browser


@pytest.mark.timeout(PATIENCE_S)
def test_the_pages_of_the_demo_have_few_words(served: tuple[subprocess.Popen[str], int, str]) -> None:
    _process, port, printed = served
    browser, trip = signed_in(port, printed), DEMO["trip"]["uuid"]
    person = min(DEMO["participants"], key=lambda row: row["name"])["uuid"]
    parts = {"hide-edit": [DEMO["hides"][0]["uuid"]], "gear-show": [person], "my-days": [person]}
    seen = {}
    for name in MOST_WORDS:
        path = reverse(f"trips:{name}", args=parts.get(name, [trip]))
        page = browser.open(f"http://127.0.0.1:{port}{path}", timeout=60).read().decode()
        seen[name] = words_of(page[page.index("<main") : page.index("</main>")]).seen
        assert seen[name] > 50, f"{path} is not the page"
    assert {name: words for name, words in seen.items() if words > MOST_WORDS[name]} == {}


@pytest.mark.timeout(PATIENCE_S)
def test_the_demo_plans_writes_serves_and_stops(served: tuple[subprocess.Popen[str], int, str]) -> None:
    process, port, printed = served
    assert process.poll() is None, printed
    assert "9 people, 9 sessions. Lowest fair share 0." in printed
    assert "The checker accepts the rota" in printed
    assert re.search(r"^Sign in as \w+ with the password \S+$", printed, re.MULTILINE)
    assert len(list((ROOT / "demo-out").glob("*.ics"))) == 10
    briefings = [PdfReader(paper) for paper in (ROOT / "demo-out").glob("*.pdf")]
    assert len(briefings) == 9
    assert all(3 <= len(briefing.pages) <= 4 for briefing in briefings)
    papers = list((ROOT / "demo-out").rglob("*.pdf"))
    assert all(paper.read_bytes().startswith(b"%PDF-") for paper in papers)

    status, page = answer(port, "/sign-in/")
    assert (status, "<h1>Sign in</h1>" in page) == (200, True)
    assert members_of(process.pid)
    second = subprocess.run(
        ["script/demo", "--port", str(port)],
        cwd=ROOT,
        env=clean_environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert second.returncode == 1
    assert second.stderr.strip() == f"Port {port} is in use: stop what uses it, or take another with --port N."

    (killed,) = workers_of(process.pid)
    os.kill(killed, signal.SIGKILL)
    until(lambda: set(workers_of(process.pid)) - {killed}, within_s=30, what="another worker starts")

    process.send_signal(signal.SIGTERM)
    assert process.wait(timeout=60) == 0
    until(lambda: not members_of(process.pid), within_s=30, what="web and worker end with the demo")
    assert not list((ROOT / "var").glob("demo.*"))
