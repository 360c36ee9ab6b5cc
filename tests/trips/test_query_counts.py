"""Every page of a trip asks the database as often with many rows as with few."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import NoReverseMatch, reverse

from tests import factories
from tests.access_table import ACCESS
from tests.trips.issued_trips import seated_rota
from trips.models import Car, Change, Pairing, Trip

pytestmark = pytest.mark.django_db


def pages_of_a_trip() -> list[str]:
    """The names of all pages whose address asks for a trip and nothing else."""
    found = []
    for name, answers in ACCESS.items():
        if not name.startswith("trips:") or answers.method != "get" or answers.leader != "page" or answers.kwargs:
            continue
        try:
            reverse(name, kwargs={"trip_uuid": "00000000-0000-4000-8000-000000000000"})
        except NoReverseMatch:
            continue
        found.append(name)
    return found


def small_trip() -> Trip:
    """Two of everything, and a draft."""
    trip = factories.planned_trip(people_count=2, hides=2, sessions=2)
    grown(trip, 1)
    return trip


def grown(trip: Trip, more: int) -> None:
    """As many more of everything, all at the same site, and one more draft in which everybody sits."""
    for _ in range(more):
        factories.hide_subject(hide=factories.hide(site=trip.sites.get()))
        person = factories.place(trip=trip).participant
        factories.body(participant=person)
        factories.lens(participant=person)
        factories.session(trip=trip)
        factories.meal(trip=trip)
        Car.objects.create(trip=trip, name=f"Car {factories.number()}", seats=4)
    places = list(trip.places.order_by("pk"))  # the newest last, so that no two are paired twice
    for first, second in zip(places[-more - 1 :], places[-more:], strict=False):
        Pairing.objects.create(trip=trip, first=first, second=second, kind="half")
    rota = seated_rota(trip)
    for _ in range(more):
        Change.objects.create(rota=rota, who=trip.leader, when=factories.FIRST_START)


def asked(client, path: str) -> list[str]:
    with CaptureQueriesContext(
        connection,
    ) as found:
        assert client.get(path).status_code == 200
    return [query["sql"] for query in found]


@pytest.fixture
def as_leader(client):
    trip = small_trip()
    client.force_login(trip.leader)
    client.trip = trip
    return client


@pytest.mark.parametrize("name", pages_of_a_trip())
def test_a_page_asks_as_often_with_many_rows(as_leader, name: str) -> None:
    trip = as_leader.trip
    path = reverse(name, kwargs={"trip_uuid": trip.uuid})
    as_leader.get(path)
    few = asked(as_leader, path)
    grown(trip, 4)
    many = asked(as_leader, path)
    assert len(many) == len(few), extra(few, many)


PAGES_OF_A_TURN = ("trips:turn-edit", "trips:turn-why", "trips:rota-issue", "trips:rota-number")


@pytest.mark.parametrize("name", PAGES_OF_A_TURN)
def test_a_page_of_a_rota_asks_as_often_with_many_rows(as_leader, name: str) -> None:
    trip = as_leader.trip

    def path() -> str:
        rota = trip.rotas.order_by("-number").first()
        turn = rota.turns.select_related("session", "place").first()
        kwargs = {"trip_uuid": trip.uuid, "number": rota.number}
        if name.startswith("trips:turn"):
            kwargs |= {"session_uuid": turn.session.uuid, "who": str(turn.place.uuid)}
        return reverse(name, kwargs=kwargs)

    as_leader.get(path())
    few = asked(as_leader, path())
    grown(trip, 4)
    many = asked(as_leader, path())
    assert len(many) == len(few), extra(few, many)


def extra(few: list[str], many: list[str]) -> str:
    """The queries that were asked more often, shortened."""
    shapes = [query.split(" WHERE ")[0][:160] for query in many]
    before = [query.split(" WHERE ")[0][:160] for query in few]
    grew = {shape for shape in shapes if shapes.count(shape) > before.count(shape)}
    return "\n".join(sorted(grew))
