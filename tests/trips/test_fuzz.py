"""Anything sent anywhere by anybody: never a breakdown, never a page of somebody else's.

script/fuzz sends as many requests as it is told, each from the seed that it prints; here is a slice of them.
"""

import os
import random
import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from tests.access_table import ACCESS, ASKERS
from tests.access_world import World, make_world
from tests.test_access import ADDRESSES
from tests.trips.form_reading import FormReader
from tests.trips.made_once import made_once
from tests.trips.test_nasty_input import MEASURES, NASTY

pytestmark = pytest.mark.django_db
CASES = int(os.environ.get("FUZZ_CASES", "40"))
SEED = int(os.environ.get("FUZZ_SEED", "1"))
PRINTED = ("my-briefing-file", "service-worker")  # a second each, and nothing is typed there
HIDDEN = {"none", "refused", "sign-in", "sign-in page"}
world = made_once(make_world)


@dataclass(frozen=True)
class Sent:
    """One request: who, how, where, what; `is_hidden`: the table says that this asker sees nothing there."""

    asker: str
    method: str
    path: str
    data: dict[str, str]
    is_hidden: bool

    def __str__(self) -> str:
        return f"{self.asker} {self.method} {self.path} { ({key: value[:40] for key, value in self.data.items()}) }"


def requests(world: World, draw: random.Random) -> Iterator[Sent]:
    """Requests without end; what a form of the page would send is sent with some of its fields changed."""
    ids = [str(part) for part in world.parts.values() if isinstance(part, uuid.UUID)]
    names = [name for name in ADDRESSES if not name.endswith(PRINTED)]
    while True:
        name, asker = draw.choice(names), draw.choice(ASKERS)
        answer = ACCESS[name]
        path = reverse(name, kwargs=world.kwargs_of(ADDRESSES[name]) | answer.kwargs)
        is_own = draw.random() < 0.7
        if not is_own:  # the id of another row, or of none, in the place of one
            others = [*ids, str(uuid.UUID(int=draw.getrandbits(128)))]
            path = re.sub(r"[0-9a-f-]{36}", draw.choice(others), path, count=1)
        data = typed(world.client_of(asker), path, ids, draw)
        method = "post" if draw.random() < 0.7 else "get"
        yield Sent(asker, method, path, data, is_own and answer.by_asker()[asker] in HIDDEN)


def typed(browser: Client, path: str, ids: list[str], draw: random.Random) -> dict[str, str]:
    """What a form of the page sends, a few fields of it with something else in them."""
    page = browser.get(path)
    text = page.content.decode() if page.get("Content-Type", "").startswith("text/html") else ""
    forms = [form for form in FormReader(text).forms if form.names] if text else []
    form = draw.choice(forms) if forms else None
    data = dict(form.sent) | dict(form.buttons[-1:]) if form else {}
    for field in draw.sample(sorted(form.names), min(3, len(form.names))) if form else ["step", "units"]:
        data[field] = odd(ids, draw)
    return data


def odd(ids: list[str], draw: random.Random) -> str:
    """A value that fits no field, or one of another."""
    anything = "".join(chr(draw.choice((draw.randrange(32, 127), draw.randrange(0xD800), 0))) for _ in range(9))
    return draw.choice([*NASTY, *MEASURES, draw.choice(ids), str(draw.randrange(1, 60)), anything])


def status_of(world: World, sent: Sent) -> int:
    """The answer's status; what was written is undone, so that every request meets the same rows."""
    browser = world.client_of(sent.asker)
    browser.raise_request_exception = False
    with transaction.atomic():
        status: int = getattr(browser, sent.method)(sent.path, sent.data).status_code
        transaction.set_rollback(True)
    return status


def test_nothing_that_anybody_sends_breaks_the_site_or_opens_a_page_of_somebody_elses(world: Any) -> None:
    draw, wrong = random.Random(SEED), []
    for number, sent in zip(range(CASES), requests(world, draw), strict=False):
        status = status_of(world, sent)
        if status >= 500 or (sent.is_hidden and status == 200):
            wrong.append(f"seed {SEED}, request {number}, answered {status}: {sent}")
    assert not wrong, "\n".join(wrong)
