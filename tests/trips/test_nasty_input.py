"""Whatever is typed into any field of a leader's pages: never a breakdown."""

from itertools import cycle

import pytest
from django.urls import get_resolver, reverse

from tests import factories
from tests.access_table import ACCESS
from tests.trips.form_reading import FormReader
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.models import Trip

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
# What takes rows away is tried by its own tests; the next field would find nothing to be typed into.
NOT_PRESSED = ("sign-out", "scheme", "remove", "delete", "withdraw", "erase", "calendar", "revoke")

MOST_FIELDS = 12  # of a form: in a table of boxes all lines are alike

OF_A_PACK = "trips:papers-pack"  # tells how papers are being made; nothing is typed there


def trip_with_everything() -> Trip:
    """An issued trip with a meal, a lens of its first person and a subject of its leader."""
    trip = issued_trip()
    factories.meal(trip=trip)
    factories.lens(participant=trip.places.first().participant)
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
    return reverse(name, kwargs={key: ways[key] for key in WANTED[name]})


def wanted_of(name: str) -> tuple[str, ...]:
    """What the address of a page is made from."""
    space, short = name.split(":")
    resolver = get_resolver().namespace_dict[space][1]
    return tuple(resolver.reverse_dict.getlist(short)[0][0][0][1])


WANTED = {name: wanted_of(name) for name in pages() if name != OF_A_PACK}


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
    values, broken = cycle(NASTY), []
    for form in FormReader(answer.content.decode()).forms:
        where = (form.action or path).partition("#")[0]
        if any(word in where for word in NOT_PRESSED):
            continue
        send = client.post if form.method == "post" else client.get
        names = list(dict.fromkeys(form.names))
        for field in names[:: 1 + len(names) // MOST_FIELDS]:
            value = next(values)
            pressed = dict(form.buttons[-1:])
            if send(where, form.sent | pressed | {field: value}).status_code >= 500:
                broken.append(f"{where}: {field}={value!r:.40}")
    assert not broken, broken
