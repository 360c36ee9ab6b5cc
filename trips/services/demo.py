"""The invented demo trip, as shipped in trips/demo/trip.json."""

import json
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.contrib.auth import get_user_model
from django.db import transaction

from participants.core.errors import CoreError
from participants.models import Participant
from trips.models import Site, Trip
from trips.services.trip_file import trip_file_import

DEMO_FILE = Path(__file__).resolve().parents[1] / "demo" / "trip.json"
PASSWORD_BYTES = 9  # 72 bits in twelve letters


class RealDataHere(CoreError):
    """The database holds people, sites or trips of its own: `trips` (names), `people` and `sites` (numbers)."""


@dataclass(frozen=True)
class LoadedDemo:
    """The demo trip; `made`: whether this call made it; `password`: the leader's, where this call set one."""

    trip: Trip
    made: bool
    leader: Any
    password: str


@transaction.atomic
def demo_load(*, password: str = "", beside: bool = False) -> LoadedDemo:
    """Load the demo trip and its leader, once; a second call changes nothing but the password, if one is given.

    Without `password` a new leader gets a random one. Raises RealDataHere when the database holds other data, unless
    `beside` is set.
    """
    content = DEMO_FILE.read_bytes()
    data = json.loads(content)
    username = data["trip"]["leader"]
    here = Trip.objects.select_related("leader").filter(uuid=data["trip"]["uuid"]).first()
    if here is not None:
        if password and here.leader.get_username() == username:
            _set_password(here.leader, password)
        return LoadedDemo(here, False, here.leader, password)
    is_new = not get_user_model().objects.filter(username=username).exists()
    if not beside:
        _refuse_beside_real_data()
    trip = trip_file_import(content=content).trip
    if is_new:
        password = password or secrets.token_urlsafe(PASSWORD_BYTES)
        _set_password(trip.leader, password)
    return LoadedDemo(trip, True, trip.leader, password if is_new else "")


def _set_password(leader: Any, password: str) -> None:
    leader.set_password(password)
    leader.save(update_fields=["password"])


def _refuse_beside_real_data() -> None:
    trips = tuple(Trip.objects.values_list("name", flat=True)[:5])
    people, sites = Participant.objects.count(), Site.objects.count()
    if trips or people or sites:
        raise RealDataHere(trips=trips, people=people, sites=sites)
