"""Trips to plan in tests: an estate with sunken and raised hides, people with gear, two sessions a day."""

from dataclasses import replace
from datetime import UTC, datetime
from unittest.mock import patch

from tests import factories
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.outcome import Outcome, SearchTime
from trips.core.rota.search.solve import solve
from trips.models import Rota, Trip
from trips.services import making_run as room
from trips.services.making import Wanted, making_open

LONG_BEFORE = datetime(2027, 4, 1, 12, tzinfo=UTC)
A_LITTLE = SearchTime.QUICK


def estate(
    *, leader: object = None, people: int = 4, seats: tuple[int, ...] = (2, 2, 1), sessions: int = 4, **rules: object
) -> Trip:
    """A trip with named hides (Alder, Birch, Cedar, Dogwood) and people P1, P2 ... who have gear."""
    trip = factories.trip(leader=leader)
    for name, value in rules.items():
        setattr(trip.rules, name, value)
    trip.rules.save()
    where = trip.sites.get()
    for number, (name, places) in enumerate(zip(("Alder", "Birch", "Cedar", "Dogwood"), seats, strict=False)):
        row = factories.hide(site=where, name=name, seats=places, views=0)
        factories.view(hide=row, bearing_deg=(250, 100, 250, 0)[number])
        factories.hide_subject(hide=row)
    for index in range(sessions):
        factories.session(trip=trip, index=index)
    for number in range(people):
        person = factories.participant(leader=trip.leader, name=f"P{number + 1}")
        factories.place(trip=trip, participant=person)
        factories.body(participant=person)
        factories.lens(participant=person)
    return trip


def planned(trip: Trip, **wanted: object) -> Rota:
    """The draft that the planner makes of a trip, in this process; of trips that are alike it searches once."""
    made, _ = making_open(
        trip=trip, wanted=Wanted(**{"search_time": A_LITTLE} | wanted), by=trip.leader, now=LONG_BEFORE
    )
    with patch.object(room, "solve", _solved if room.solve is solve else room.solve):
        made = room.making_run(making_uuid=made.uuid)
    assert made.rota is not None, (made.state, made.explanation)
    return made.rota


_outcomes: dict[object, Outcome] = {}


def _solved(problem: Problem, *, progress: object, stop: object, **asked: object) -> Outcome:
    """The planner's answer: the same for the same problem, draw number and work, whatever the trip is called."""
    key = (replace(problem, name=""), *sorted(asked.items()))
    if key not in _outcomes:
        _outcomes[key] = solve(problem, progress=progress, stop=stop, **asked)  # type: ignore[arg-type]
    return _outcomes[key]


def seats_of(rota: Rota) -> dict[tuple[str, int], str]:
    """Who sits where: (person, session number) -> hide."""
    sessions = {row.pk: index for index, row in enumerate(rota.trip.sessions.all())}
    return {
        (turn.place.participant.name, sessions[turn.session_id]): turn.hide.name
        for turn in rota.turns.filter(place__isnull=False).select_related("place__participant", "hide")
    }
