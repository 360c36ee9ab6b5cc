"""Fifty phones at one server (gunicorn, 2 workers of 4 threads, a worker that plans beside it), against a bare view.

A row for each thing that phones ask for: milliseconds of the server an answer, the bare view's in the same run, the
share of the bare view's answers a second, the 95th percentile of a phone's waiting, and answers that were errors.
"""

import argparse
import contextlib
import http.client
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.bench.bench_pages import empty_database
from tests.waiting import until

PHONES, OPENING = 50, 8
GUNICORN = ("--workers", "2", "--threads", "4", "--log-level", "error")
ROOT = Path(__file__).resolve().parents[2]


def add_options(parser: argparse.ArgumentParser) -> None:
    """How long each part asks."""
    parser.add_argument("--seconds", type=float, default=20.0, help="for each row (default 20)")


@dataclass(frozen=True)
class Ask:
    """What a phone asks for: an address, with its cookie or with what it knows already."""

    path: str
    headers: dict[str, str] = field(default_factory=dict)
    wanted: int = 200


@dataclass
class Found:
    """What came back: seconds of each answer, and how many were not as wanted."""

    seconds: list[float] = field(default_factory=list)
    errors: int = 0


def rows(options: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """The rows; the bare view is asked before and after, and counts with its mean."""
    with empty_database(), tempfile.TemporaryDirectory(prefix="fairhide-load-") as folder:
        asks, trip = _asks(folder)
        with _served("config.wsgi") as port, _worker(trip):
            _wait(port, "/health")
            _mark(port, asks["a calendar as it was"])
            ours = {name: _load(port, own, PHONES, options.seconds) for name, own in asks.items() if name != "pack"}
            ours["eight phones open the mail"] = _load(port, asks["pack"], OPENING, options.seconds)
        with _served("tests.bench.bare_view") as port:
            _wait(port, "/")
            bare = {count: _load(port, [Ask("/")], count, options.seconds) for count in (PHONES, OPENING)}
        for name, found in ours.items():
            phones = OPENING if name.startswith("eight") else PHONES
            yield _row(name, found, bare[phones], options.seconds)


def _row(name: str, found: Found, bare: Found, seconds: float) -> dict[str, Any]:
    waits = sorted(found.seconds)
    share = len(found.seconds) / len(bare.seconds) if bare.seconds else 0.0
    return {
        "row": name,
        "ours_ms": 1000.0 * seconds / max(1, len(waits)),
        "rival_ms": 1000.0 * seconds / max(1, len(bare.seconds)),
        "share_of_bare": share,
        "p95_s": waits[int(0.95 * (len(waits) - 1))] if waits else None,
        "errors": found.errors,
    }


def _asks(folder: str) -> tuple[dict[str, list[Ask]], Any]:
    """The demo trip, planned and issued, and what its people ask for."""
    from django.core.management import call_command
    from django.test import Client
    from django.urls import reverse

    from participants.services import link_hand_over
    from trips.models import Trip
    from trips.services.calendars import feed_address

    call_command("prepare_demo", folder, stdout=open(os.devnull, "w"))  # noqa: SIM115
    trip = Trip.objects.get()
    days, packs, feeds = [], [], []
    for place in trip.places.filter(state="confirmed").select_related("participant"):
        client = Client(SERVER_NAME="localhost")
        client.post(reverse("participants:link-press"), {"token": link_hand_over(person=place.participant)})
        cookie = {"Cookie": "; ".join(f"{name}={one.value}" for name, one in client.cookies.items())}
        uuid = place.participant.uuid
        days.append(Ask(f"/my/{uuid}/days/", cookie))
        packs += [Ask(f"/my/{uuid}/days/", cookie), Ask(f"/my/{uuid}/briefing.pdf", cookie)]
        address = feed_address(kind="feed_person", owner_uuid=uuid)
        feeds.append(Ask("/" + address.split("/", 3)[3]))
    marked = [Ask(one.path, dict(one.headers), 304) for one in feeds]
    return {"a person's days": days, "a calendar": feeds, "a calendar as it was": marked, "pack": packs}, trip


def _mark(port: int, feeds: list[Ask]) -> None:
    """Tell each calendar's phone the mark of what it has."""
    for one in feeds:
        connection = http.client.HTTPConnection("localhost", port, timeout=60)
        connection.request("GET", one.path)
        answer = connection.getresponse()
        answer.read()
        one.headers["If-None-Match"] = answer.headers["ETag"]
        connection.close()


def _load(port: int, asks: list[Ask], phones: int, seconds: float) -> Found:
    """So many phones ask one after the other until the seconds are over."""
    found, lock, over_at = Found(), threading.Lock(), time.monotonic() + seconds

    def phone(number: int) -> None:
        own, at = Found(), number
        connection = http.client.HTTPConnection("localhost", port, timeout=60)
        while time.monotonic() < over_at:
            ask, begun = asks[at % len(asks)], time.monotonic()
            at += 1
            try:
                connection.request("GET", ask.path, headers=ask.headers)
                answer = connection.getresponse()
                answer.read()
                own.errors += answer.status != ask.wanted
            except (OSError, http.client.HTTPException):
                own.errors += 1
                connection.close()
            own.seconds.append(time.monotonic() - begun)
        connection.close()
        with lock:
            found.seconds += own.seconds
            found.errors += own.errors

    threads = [threading.Thread(target=phone, args=(number,)) for number in range(phones)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    return found


@contextlib.contextmanager
def _served(application: str) -> Iterator[int]:
    import socket

    with socket.create_server(("127.0.0.1", 0)) as door:
        port = door.getsockname()[1]
        command = [sys.executable, "-m", "gunicorn", application, *GUNICORN, "--bind", f"fd://{door.fileno()}"]
        process = subprocess.Popen(command, cwd=ROOT, pass_fds=[door.fileno()])
    try:
        yield port
    finally:
        process.terminate()
        process.wait(timeout=60)


@contextlib.contextmanager
def _worker(trip: Any) -> Iterator[None]:
    """A worker that makes a rota while phones ask."""
    from django.utils import timezone

    from trips.services.making import Wanted, making_start

    making_start(trip=trip, wanted=Wanted(search_time="thorough"), by=trip.leader, now=timezone.now())
    process = subprocess.Popen([sys.executable, "manage.py", "db_worker", "--no-startup-delay"], cwd=ROOT)
    try:
        yield
    finally:
        process.kill()  # a worker that plans ends its run first when it is asked to stop
        process.wait(timeout=60)


def _wait(port: int, path: str) -> None:
    until(lambda: _answers(port, path), within_s=120, what="the server answers")


def _answers(port: int, path: str) -> bool:
    with contextlib.suppress(OSError):
        connection = http.client.HTTPConnection("localhost", port, timeout=5)
        connection.request("GET", path)
        connection.getresponse().read()
        return True
    return False
