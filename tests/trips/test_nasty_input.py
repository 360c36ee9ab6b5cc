"""Whatever is typed into any field of a leader's pages: never a breakdown."""

import re
from collections.abc import Callable, Iterator
from itertools import cycle

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.urls import get_resolver, reverse

from tests import factories
from tests.access_table import ACCESS
from tests.trips.form_reading import FormReader, PageForm
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.models import GearAway, Trip

pytestmark = pytest.mark.django_db
NASTY = (
    "\x00",
    "1e400",
    "nan",
    "-1",
    "9" * 26,
    "\U0001f985" * 400,
    "2027-02-30",
    "25:61",
    "٣",
    "1,5",
    " ",
    "-inf",
    "0.0000000001",
    "9999-12-31",
    "0001-01-01",
    "a\r\nb",
    "{{ 7 }}",
)
MEASURES = ("-1", "0", "9" * 26, "a few")  # typed into every field for a number, a day or a time
# What takes rows away is tried by its own tests; the next field would find nothing to be typed into.
NOT_PRESSED = ("sign-out", "scheme", "remove", "delete", "withdraw", "erase", "calendar", "revoke")

MOST_FIELDS = 12  # of a form: in a table of boxes all lines are alike

FILES = ("trips:papers-pack", "trips:incident-file")  # nothing is typed there


def trip_with_everything() -> Trip:
    """An issued trip with a meal, a lens of its first person, lent to the second, and a subject of its leader."""
    trip = issued_trip()
    factories.meal(trip=trip)
    owner, borrower = trip.places.all()[:2]
    lens = factories.lens(participant=owner.participant)
    GearAway.objects.create(trip=trip, lens=lens, borrower=borrower, from_at=trip.sessions.first().starts_at)
    factories.subject(leader=trip.leader)
    return trip


made = made_once(trip_with_everything)


def pages() -> list[str]:
    """Every page of a leader that GET opens, by its name."""
    return [
        name
        for name, row in ACCESS.items()
        if name.startswith("trips:") and row.leader == "page" and row.method == "get" and not row.kwargs
    ]


def path_of(name: str, trip: Trip) -> str:
    """The page's address on this trip."""
    session, place, rota = trip.sessions.first(), trip.places.first(), trip.rotas.first()
    site = trip.sites.get()
    ways = {"trip_uuid": trip.uuid, "session_uuid": session.uuid, "place_uuid": place.uuid, "number": rota.number}
    ways |= {"site_uuid": site.uuid, "hide_uuid": site.hides.first().uuid, "person_uuid": place.participant.uuid}
    lens = trip.places.first().participant.lenses.first()
    ways |= {"who": str(place.uuid), "kind": "lens", "piece_uuid": lens.uuid}
    ways |= {"subject_uuid": trip.leader.subjects.first().uuid, "meal_uuid": trip.meals.first().uuid}
    ways["away_uuid"] = trip.gear_away.first().uuid
    return reverse(name, kwargs={key: ways[key] for key in WANTED[name]})


def wanted_of(name: str) -> tuple[str, ...]:
    """What the address of a page is made from."""
    space, short = name.split(":")
    resolver = get_resolver().namespace_dict[space][1]
    return tuple(resolver.reverse_dict.getlist(short)[0][0][0][1])


WANTED = {name: wanted_of(name) for name in pages() if name not in FILES}


def typed_into(form: PageForm, known: set[str]) -> Iterator[tuple[str, str]]:
    """(field, value): all measures into each field that takes one, a value of its own into the others.

    `known`: fields that were tried already; lines that are alike but for their number are tried once.
    """
    for field in form.measured:
        alike = re.sub(r"[0-9a-f]{8}(-[0-9a-f]{4,12}){4}|\d+", "#", field)
        if alike not in known:
            known.add(alike)
            yield from ((field, value) for value in MEASURES)
    others = [name for name in dict.fromkeys(form.names) if name not in form.measured]
    yield from zip(others[:: 1 + len(others) // MOST_FIELDS], cycle(NASTY), strict=False)


def status_of(send: Callable[..., HttpResponse], where: str, data: dict[str, str]) -> int:
    """The answer's status; what was written is undone, so that every value meets the page as it was opened."""
    with transaction.atomic():
        status = send(where, data).status_code
        transaction.set_rollback(True)
    return status


@pytest.mark.parametrize("name", sorted(WANTED))
def test_a_page_survives_whatever_is_typed(client, made, name: str) -> None:
    trip = Trip.objects.get(pk=made.pk)
    client.force_login(trip.leader)
    client.raise_request_exception = False
    path = path_of(name, trip)
    answer = client.get(path)
    assert answer.status_code == 200
    if not answer.get("Content-Type", "").startswith("text/html"):
        return
    broken: list[str] = []
    known: set[str] = set()
    for form in FormReader(answer.content.decode()).forms:
        if name.endswith("-new") and name.removesuffix("new") + "edit" in WANTED:
            form.measured = []  # the page of the row that is there already has the same fields
        where = (form.action or path).partition("#")[0]
        if any(word in where for word in NOT_PRESSED):
            continue
        send = client.post if form.method == "post" else client.get
        for field, value in typed_into(form, known):
            if status_of(send, where, form.sent | dict(form.buttons[-1:]) | {field: value}) >= 500:
                broken.append(f"{where}: {field}={value!r:.40}")
    assert not broken, broken
