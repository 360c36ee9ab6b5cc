"""One trip with something at every address, and the people who ask."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.test import Client

from config.workers import sign_of_life
from tests import factories
from tests.factories import FIRST_START
from tests.trips.issued_trips import issued_trip, phone_of, seated_rota
from trips import models
from trips.services.incidents import IncidentSaid, incident_make
from trips.services.trip import trip_update

ASKED_FOR = "participant"


@dataclass(frozen=True)
class World:
    """The parts of addresses by name, and who is signed in where."""

    parts: dict[str, Any]
    cookies: dict[str, dict[str, str]]

    def kwargs_of(self, names: tuple[str, ...]) -> dict[str, Any]:
        """The parts an address asks for."""
        missing = [name for name in names if name not in self.parts]
        assert not missing, f"tests/access_world.py knows nothing to put for {missing}"
        return {name: self.parts[name] for name in names}

    def client_of(self, asker: str) -> Client:
        """A browser in which the asker is signed in."""
        client = Client(raise_request_exception=True)
        for name, value in self.cookies[asker].items():
            client.cookies[name] = value
        return client


def make_world() -> World:
    """Make the trip, its people and their browsers."""
    sign_of_life("a worker")
    trip = issued_trip()
    first, second = trip.places.all()[:2]
    pairing = models.Pairing.objects.create(trip=trip, first=first, second=second, kind="half")
    lens = first.participant.lenses.first()
    away = models.GearAway.objects.create(trip=trip, lens=lens, borrower=second, from_at=FIRST_START)
    draft = seated_rota(trip)
    change = models.Change.objects.create(rota=draft, who=trip.leader, when=FIRST_START - timedelta(days=9))
    making = models.Making.objects.create(
        trip=trip, state="impossible", started_at=FIRST_START - timedelta(days=20), rota=draft
    )
    pack = models.PaperPack.objects.create(
        trip=trip, rota=draft, state="finished", asked_at=FIRST_START - timedelta(days=8), content=b"PK"
    )
    told = IncidentSaid(trip.sessions.first(), None, "A fall on the steps.", "")
    incident = incident_make(trip=trip, told=told, by=trip.leader, now=FIRST_START)
    browsers = {
        "nobody": Client(),
        "participant": phone_of(first.participant),
        "another_participant": phone_of(second.participant),
        "leader": Client(),
        "another_leader": Client(),
    }
    browsers["leader"].force_login(trip.leader)
    browsers["another_leader"].force_login(factories.trip().leader)
    site = trip.sites.get()
    browsers |= _further(trip)
    parts = {
        "trip_uuid": trip.uuid,
        "site_uuid": site.uuid,
        "hide_uuid": site.hides.first().uuid,
        "subject_uuid": site.hides.first().hide_subjects.first().subject.uuid,
        "session_uuid": trip.sessions.first().uuid,
        "meal_uuid": factories.meal(trip=trip).uuid,
        "person_uuid": first.participant.uuid,
        "place_uuid": first.uuid,
        "device_uuid": first.participant.devices.get().uuid,
        "away_uuid": away.uuid,
        "piece_uuid": first.participant.lenses.first().uuid,
        "kind": "lens",
        "pairing_uuid": pairing.uuid,
        "notice_uuid": first.notices.first().uuid,
        "rota_uuid": draft.uuid,
        "number": draft.number,
        "who": str(first.uuid),
        "change_uuid": change.uuid,
        "message_uuid": models.Message.objects.create(place=first, kind="ill", sent_at=FIRST_START).uuid,
        "happening_uuid": models.Happening.objects.create(trip=trip, kind="car_down", at=FIRST_START).uuid,
        "making_uuid": making.uuid,
        "pack_uuid": pack.uuid,
        "incident_uuid": incident.uuid,
        "token": "no-such-token",
        "uidb64": "MQ",
    }
    cookies = {
        asker: {name: morsel.value for name, morsel in client.cookies.items()} for asker, client in browsers.items()
    }
    return World(parts, cookies)


def _further(trip: models.Trip) -> dict[str, Client]:
    """Browsers of the people whose answers follow from those of others."""
    co_leader, removed = factories.leader(username="co-leader"), factories.leader(username="removed")
    update = {"sites": list(trip.sites.all()), "by": trip.leader}
    for named in ([co_leader, removed], [co_leader]):
        trip_update(trip=trip, seen_version=trip.version, co_leaders=named, **update)
    uninvited = factories.leader(username="uninvited")
    for leader in (removed, uninvited):
        factories.trip(leader=leader, sites=list(trip.sites.all()))
    signed_in = {
        "co_leader": co_leader,
        "removed_co_leader": removed,
        "uninvited_leader": uninvited,
        "staff": factories.leader(username="staff", is_staff=True),
    }
    browsers = {asker: Client() for asker in signed_in}
    for asker, user in signed_in.items():
        browsers[asker].force_login(user)
    return browsers | {"participant_elsewhere": phone_of(factories.place().participant)}
