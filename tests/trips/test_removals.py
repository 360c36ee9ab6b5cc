"""Whatever a rota is made from: its rota says so when it is taken out."""

from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone

from participants.models import Support
from tests import factories
from trips.models import Absence, Pairing, Trip
from trips.selectors.rota import changed_since
from trips.services.gear import piece_delete
from trips.services.my_data import person_erase
from trips.services.person import absences_set, pairing_remove, place_remove
from trips.services.remedy import remedy_apply
from trips.services.session import session_delete
from trips.services.site import hide_delete
from trips.services.subject import subject_delete
from trips.services.trip import trip_update

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
Work = Callable[[], Any]


def _pairing(trip: Trip) -> Pairing:
    return Pairing.objects.create(trip=trip, first=trip.places.first(), second=trip.places.last(), kind="together")


def hide(trip: Trip) -> Work:
    row = factories.hide(site=trip.sites.get())
    return lambda: hide_delete(hide=row)


def subject(trip: Trip) -> Work:
    row = factories.hide_subject(hide=trip.sites.get().hides.first())
    return lambda: subject_delete(subject=row.subject)


def lens(trip: Trip) -> Work:
    row = factories.lens(participant=trip.places.first().participant)
    return lambda: piece_delete(piece=row, seen_version=row.version)


def place(trip: Trip) -> Work:
    row = factories.place(trip=trip)
    return lambda: place_remove(place=row)


def absence(trip: Trip) -> Work:
    row = Absence.objects.create(place=trip.places.first(), session=trip.sessions.first())
    return lambda: absences_set(place=row.place, sessions=[], seen=[row.session.pk])


def pairing(trip: Trip) -> Work:
    row = _pairing(trip)
    return lambda: pairing_remove(pairing=row)


def pairing_by_a_remedy(trip: Trip) -> Work:
    row = _pairing(trip)
    people = [str(row.first.uuid), str(row.second.uuid)]
    return lambda: remedy_apply(trip=trip, remedy={"change": "let_sit_apart", "people": people})


def session(trip: Trip) -> Work:
    row = factories.session(trip=trip, index=5)
    return lambda: session_delete(session=row)


def person(trip: Trip) -> Work:
    return lambda: person_erase(person=trip.places.first().participant)


@pytest.mark.parametrize(
    "part",
    [hide, subject, lens, place, absence, pairing, pairing_by_a_remedy, session, person],
    ids=lambda part: part.__name__,
)
def test_a_part_that_is_taken_out_is_missed_by_the_rota(part: Callable[[Trip], Work]) -> None:
    trip, bystander = factories.planned_trip(), factories.planned_trip()
    version = trip.version
    take_out = part(trip)
    rota = factories.rota(trip=trip, made_at=timezone.now())
    assert changed_since(rota) is None
    take_out()
    assert changed_since(rota) is not None
    trip.refresh_from_db()
    bystander.refresh_from_db()
    assert trip.version == version  # an open form of the trip is not refused for it
    assert bystander.parts_changed_at is None


def test_gear_that_no_rota_asks_for_is_not_missed() -> None:
    trip = factories.planned_trip()
    tripod = Support.objects.create(participant=trip.places.first().participant, name="tripod", kind="tripod")
    rota = factories.rota(trip=trip, made_at=timezone.now())
    piece_delete(piece=tripod, seen_version=tripod.version)
    assert changed_since(rota) is None


@pytest.mark.parametrize("change", ["add", "exchange", "remove", "rename"])
def test_a_site_put_in_or_taken_out_is_told(change: str) -> None:
    trip = factories.planned_trip()
    first, second = trip.sites.get(), factories.site(leader=trip.leader)
    if change == "remove":
        trip.sites.add(second)
    rota = factories.rota(trip=trip, made_at=timezone.now())
    assert changed_since(rota) is None
    sites = {"add": [first, second], "exchange": [second], "remove": [first], "rename": [first]}[change]
    trip.name = "Another name"
    trip_update(trip=trip, sites=sites, seen_version=trip.version)
    assert (changed_since(rota) is None) == (change == "rename")
