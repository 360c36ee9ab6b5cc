"""export_problem, and the real trips whose problems lie in tests/core/rota/trips."""

import json
import re
from pathlib import Path

import pytest

from tests import factories
from tests.trips.command_line import Ran, run
from tests.trips.real_trips import FOLDER, REAL_TRIPS, problem_file
from tests.trips.rota_trips import LONG_BEFORE, estate
from trips.core.rota.files.digests import inputs_digest, rules_digest
from trips.core.rota.files.problem_file import read_problem
from trips.models import Making, RotaState, Trip
from trips.services.making_run import making_inputs

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip() -> Trip:
    found = estate(people=4, seats=(2, 2, 1), sessions=4)
    found.name = "Kites in May"
    found.save()
    return found


def test_the_problem_of_a_trip_is_written_as_the_planner_gets_it(trip, tmp_path):
    path = tmp_path / "kites.json"
    assert run("export_problem", trip.name, path) == Ran(0, "", "")
    problem = read_problem(path.read_text())
    assert (problem.name, problem.people) == ("Kites in May", ("P1", "P2", "P3", "P4"))
    planned = making_inputs(Making(trip=trip), LONG_BEFORE)[0].problem
    assert inputs_digest(problem) == inputs_digest(planned)
    assert rules_digest(problem) == rules_digest(planned)


def test_an_anonymous_problem_holds_no_name(trip, tmp_path):
    for number, place in enumerate(trip.places.all()):
        place.participant.name = ("Zoë", "Ada", "Bo", "Cy")[number]
        place.participant.save()
    path = tmp_path / "kites.json"
    run("export_problem", trip.name, path, "--anonymous")
    words = set(re.findall(r"[^\W\d]{2,}", json.dumps(list(json.loads(path.read_text()).values()), ensure_ascii=False)))
    keys = {"name", "capacity", "minimum_people", "seats", "quality"}
    assert words <= keys | {"trip", "spare_seats", "early", "late", "true", "false", "null"}


def test_the_problem_of_a_repair_holds_what_was_issued(trip, tmp_path):
    rota = factories.rota(trip=trip, state=RotaState.ISSUED)
    session, hide = trip.sessions.first(), trip.sites.get().hides.first()
    factories.turn(rota=rota, session=session, hide=hide, place=trip.places.first())
    path = tmp_path / "kites.json"
    assert run("export_problem", trip.name, path, "--changes", "few", "--from", "2").code == 0
    problem = read_problem(path.read_text())
    assert (problem.repair, problem.past) == ("few", 1)
    assert [(turn.person, turn.session, turn.hide) for turn in problem.issued.turns] == [(0, 0, 0)]


def test_a_problem_that_cannot_be_written_is_refused(trip):
    for options, said in [
        (("Nowhere", "-"), "Nowhere"),
        ((trip.name, "-", "--changes", "few"), "has no issued rota to repair"),
        ((trip.name, "-", "--from", "1"), "say --changes as well"),
        ((trip.name, "/nowhere/at/all.json"), "cannot be written"),
        ((factories.trip().uuid, "-"), "There is nobody to seat yet"),
    ]:
        refused = run("export_problem", *options)
        assert (refused.code, refused.out) == (2, "")
        assert said in refused.err


def test_the_files_of_real_trips_are_those_that_their_rows_give():
    assert {path.stem for path in FOLDER.glob("*.json")} == set(REAL_TRIPS)
    for name in ("four", "reservoir"):
        assert problem_file(name) == Path(FOLDER / f"{name}.json").read_text()
