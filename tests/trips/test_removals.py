"""Whatever a rota is made from, its rota says so when it is taken out."""

from typing import Any

import pytest
from django.utils import timezone

from participants import models as people
from tests import factories
from trips.models import (
    Absence,
    Again,
    Forecast,
    Pairing,
    Rota,
    SessionHide,
    Trip,
    Wish,
)
from trips.removals import TRIPS_OF
from trips.selectors.rota import changed_since
from trips.services.trip import trip_update

pytestmark = pytest.mark.django_db


def parts_of(trip: Trip) -> list[Any]:
    """A row of every kind that a rota is made from, none of which another row holds fast."""
    site, session, place = trip.sites.get(), trip.sessions.first(), trip.places.first()
    hide, person = factories.hide(site=site, seats=0, views=0), place.participant
    subject = factories.subject(leader=trip.leader)
    return [
        factories.seat(hide=hide),
        factories.view(hide=hide),
        factories.hide_subject(hide=hide, subject=subject),
        SessionHide.objects.create(session=session, hide=hide, state="ready"),
        Forecast.objects.create(session=session, hour=session.starts_at, air_c=21.5, humidity_pct=40),
        Wish.objects.create(place=place, subject=subject, marks=4),
        Again.objects.create(place=place, hide=hide),
        Absence.objects.create(place=place, session=session, reason="late flight"),
        Pairing.objects.create(trip=trip, first=place, second=trip.places.last(), kind="apart"),
        factories.body(participant=person),
        factories.lens(participant=person),
        people.Converter.objects.create(participant=person, name="1.4 x", factor=1.4),
        people.Tube.objects.create(participant=person, name="25 mm", length_mm=25),
        factories.session(trip=trip, index=5),
        factories.place(trip=trip),
        hide,
    ]


def test_every_kind_of_part_is_missed_when_it_is_taken_out():
    trip, bystander = factories.planned_trip(), factories.planned_trip()
    parts = parts_of(trip)
    assert {type(part) for part in parts} == set(TRIPS_OF)
    rota = factories.rota(trip=trip)
    for part in parts:
        Rota.objects.filter(pk=rota.pk).update(changed_at=timezone.now())
        rota.refresh_from_db()
        assert changed_since(rota) is None, part
        part.delete()
        assert changed_since(rota) is not None, part
    bystander.refresh_from_db()
    assert bystander.parts_changed_at is None


@pytest.mark.parametrize("change", ["add", "exchange", "remove", "rename"])
def test_a_site_put_in_or_taken_out_is_told(change: str):
    trip = factories.planned_trip()
    first, second = trip.sites.get(), factories.site(leader=trip.leader)
    if change == "remove":
        trip.sites.add(second)
    rota = factories.rota(trip=trip)
    assert changed_since(rota) is None
    sites = {"add": [first, second], "exchange": [second], "remove": [first], "rename": [first]}[change]
    trip.name = "Another name"
    trip_update(trip=trip, sites=sites, seen_version=trip.version)
    assert (changed_since(rota) is None) == (change == "rename")


def test_an_open_form_of_the_trip_is_not_refused_for_it():
    trip = factories.planned_trip()
    before = trip.version
    trip.places.first().delete()
    trip.refresh_from_db()
    assert trip.parts_changed_at is not None
    assert trip.version == before
