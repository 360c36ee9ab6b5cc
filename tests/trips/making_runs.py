"""Runs of the planner during which something happens."""

from collections.abc import Callable

import pytest

from tests.trips.rota_trips import A_LITTLE, LONG_BEFORE
from trips.core.rota.search.outcome import Outcome
from trips.core.rota.search.solve import solve
from trips.models import Making, Trip
from trips.services import making_run as room
from trips.services.making import Wanted, making_open

LITTLE = Wanted(search_time=A_LITTLE)


def meanwhile(monkeypatch: pytest.MonkeyPatch, happens: Callable[[], object]) -> None:
    """The planner as it is; before it hands its plan back, something happens."""

    def slow(problem, **asked) -> Outcome:
        outcome = solve(problem, **asked)
        happens()
        return outcome

    monkeypatch.setattr(room, "solve", slow)


def started(trip: Trip, wanted: Wanted = LITTLE) -> Making:
    making, _ = making_open(trip=trip, wanted=wanted, by=trip.leader, now=LONG_BEFORE)
    return making
