"""Every named address, asked by everybody: each gives the answer that tests/access_table.py declares."""

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.access_table import ACCESS, ASKERS, Answers
from tests.access_world import make_world
from tests.trips.made_once import made_once

pytestmark = pytest.mark.django_db
SIGN_IN, WAY_IN = "/sign-in/", "/in/"
DENIED = ("sign-in", "sign-in page", "none", "refused", "gone")


def named_addresses(resolver: URLResolver | None = None, spaces: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Every named address of the house with the names of its parts; Django's admin guards itself."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            if entry.app_name != "admin":
                inner = (*spaces, entry.namespace) if entry.namespace else spaces
                yield from named_addresses(entry, inner)
        elif isinstance(entry, URLPattern) and entry.name:
            yield ":".join((*spaces, entry.name)), tuple(entry.pattern.converters)


ADDRESSES = dict(named_addresses())


world = made_once(make_world)


def test_every_named_address_declares_its_answers():
    assert sorted(set(ADDRESSES) - set(ACCESS)) == [], "declare who may see these addresses in tests/access_table.py"
    assert sorted(set(ACCESS) - set(ADDRESSES)) == [], (
        "these addresses are gone: take them out of tests/access_table.py"
    )


def test_every_pattern_has_a_name():
    unnamed = [
        str(entry.pattern)
        for module in ("config.urls", "participants.urls", "trips.urls")
        for entry in get_resolver(module).url_patterns
        if isinstance(entry, URLPattern) and not entry.name
    ]
    assert unnamed == []


@pytest.mark.parametrize("name", sorted(ACCESS))
def test_an_address_answers_everybody_as_declared(world, name):
    row = ACCESS[name]
    path = reverse(name, kwargs=world.kwargs_of(ADDRESSES[name]) | row.kwargs)
    said = {asker: asked(world.client_of(asker), path, row.method) for asker in ASKERS}
    wanted = row.by_asker()
    if "taken" in wanted.values():
        said = {asker: "taken" if word in ("page", "onwards") else word for asker, word in said.items()}
        wanted = {asker: "taken" if word in ("page", "onwards") else word for asker, word in wanted.items()}
    assert said == wanted


@pytest.mark.parametrize("name", sorted(name for name, row in ACCESS.items() if row.method == "get"))
def test_whom_a_page_is_refused_to_can_post_nothing_either(world, name):
    row = ACCESS[name]
    path = reverse(name, kwargs=world.kwargs_of(ADDRESSES[name]) | row.kwargs)
    for asker, word in row.by_asker().items():
        if word in DENIED:
            assert asked(world.client_of(asker), path, "post") in (word, "405"), asker


@pytest.mark.parametrize(
    "name", sorted(name for name, row in ACCESS.items() if row.leader in ("page", "taken") and ADDRESSES.get(name))
)
def test_what_does_not_exist_is_not_there_for_the_leader(world, name):
    """A made-up uuid is a 404 for somebody who is signed in, never a page or a fault."""
    parts = world.kwargs_of(ADDRESSES[name]) | ACCESS[name].kwargs
    made_up = {part: uuid.UUID(int=7) if isinstance(value, uuid.UUID) else value for part, value in parts.items()}
    if made_up != parts:
        path = reverse(name, kwargs=made_up)
        assert asked(world.client_of("leader"), path, ACCESS[name].method) == "none"


def asked(client: Client, path: str, method: str) -> str:
    """The answer to one request in the words of the table; what the request did is undone."""
    with transaction.atomic():
        answer = client.post(path) if method == "post" else client.get(path)
        transaction.set_rollback(True)
    return answer_word(answer)


def answer_word(response: HttpResponse) -> str:
    """The answer in the words of the table."""
    status = response.status_code
    if status in (301, 302, 303):
        to = response.headers["Location"]
        return "sign-in" if to.startswith(SIGN_IN) else "sign-in page" if to.split("?")[0] == WAY_IN else "onwards"
    words = {200: "page", 204: "taken", 400: "taken", 409: "taken", 404: "none", 410: "gone", 403: "refused"}
    return words.get(status, str(status))


def test_the_words_of_the_table_are_known():
    known = {"page", "taken", "sign-in", "sign-in page", "none", "gone", "refused", "onwards"}
    assert {word for row in ACCESS.values() for word in row.by_asker().values()} <= known
    assert all(isinstance(row, Answers) for row in ACCESS.values())
