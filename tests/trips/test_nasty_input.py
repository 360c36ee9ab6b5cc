"""Whatever is typed into any field of a leader's pages: never a breakdown."""

from itertools import cycle

import pytest
from django.urls import get_resolver, reverse

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

made = made_once(issued_trip)


def pages() -> list[str]:
    """Every page of a leader that GET opens, by its name."""
    return [
        name
        for name, row in ACCESS.items()
        if name.startswith("trips:") and row.leader == "page" and row.method == "get" and not row.kwargs
    ]


def path_of(name: str, trip: Trip) -> str | None:
    """The page's address on this trip; None where it is about something else."""
    session, place, rota = trip.sessions.first(), trip.places.first(), trip.rotas.first()
    site = trip.sites.get()
    ways = {"trip_uuid": trip.uuid, "session_uuid": session.uuid, "place_uuid": place.uuid, "number": rota.number}
    ways |= {"site_uuid": site.uuid, "hide_uuid": site.hides.first().uuid, "person_uuid": place.participant.uuid}
    ways |= {"who": str(place.uuid)}
    wanted = WANTED[name]
    return reverse(name, kwargs={key: ways[key] for key in wanted}) if set(wanted) <= set(ways) else None


def wanted_of(name: str) -> tuple[str, ...]:
    """What the address of a page is made from."""
    space, short = name.split(":")
    resolver = get_resolver().namespace_dict[space][1]
    return tuple(resolver.reverse_dict.getlist(short)[0][0][0][1])


WANTED = {name: wanted_of(name) for name in pages()}


@pytest.mark.parametrize("name", sorted(WANTED))
def test_a_page_survives_whatever_is_typed(client, made, name: str) -> None:
    trip = Trip.objects.get(pk=made.pk)
    client.force_login(trip.leader)
    client.raise_request_exception = False
    path = path_of(name, trip)
    if path is None:
        pytest.skip("about a row that this trip has not")
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
