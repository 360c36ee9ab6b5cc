"""The invented demo trip: what it holds, and that loading it is safe."""

import csv
import json
import re
from collections import Counter
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model

from participants.core.errors import CoreError
from participants.models import Body, Lens, Participant
from tests import factories
from tests.trips.command_line import run
from trips import models
from trips.assemble import trip_values
from trips.assemble.drive_rows import rows_of
from trips.assemble.drives import TripDrives
from trips.assemble.rota import rota_inputs
from trips.core.rota.problem.shares import best_alone
from trips.services.demo import DEMO_FILE, RealDataHere, demo_load
from trips.services.trip_file import trip_file_bytes

pytestmark = pytest.mark.django_db
SPECIES = Path(__file__).resolve().parent / "data" / "species.csv"


@pytest.fixture
def demo():
    """The loaded demo trip."""
    return demo_load().trip


def test_the_shipped_file_is_what_an_export_writes(demo):
    assert trip_file_bytes(trip=demo, with_health=True) == DEMO_FILE.read_bytes()


def test_the_demo_is_loaded_once_and_its_password_told():
    first = run("load_demo", "--password", "moss-and-cork")
    assert first.code == 0
    assert "Sign in as leader with the password moss-and-cork" in first.out
    content = trip_file_bytes(trip=models.Trip.objects.get())
    second = run("load_demo")
    assert second.code == 0
    assert "Already here" in second.out
    assert "password" not in second.out
    assert trip_file_bytes(trip=models.Trip.objects.get()) == content
    assert get_user_model().objects.get().check_password("moss-and-cork")


def test_without_a_password_a_random_one_is_made():
    passwords = set()
    for _ in range(2):
        done = demo_load()
        assert done.leader.check_password(done.password)
        passwords.add(done.password)
        models.Trip.objects.all().delete()
        models.Site.objects.all().delete()
        Participant.objects.all().delete()
        get_user_model().objects.all().delete()
    assert len(passwords) == 2


def test_the_demo_is_not_loaded_over_real_data_unasked(monkeypatch):
    factories.planned_trip()
    with pytest.raises(RealDataHere):
        demo_load()
    monkeypatch.setattr("sys.stdin", None)
    monkeypatch.setattr("sys.stdin", open("/dev/null", encoding="utf-8"))  # noqa: SIM115
    ran = run("load_demo")
    assert ran.code == 2
    assert "--beside" in ran.err
    assert models.Trip.objects.count() == 1
    assert run("load_demo", "--beside").code == 0
    assert models.Trip.objects.count() == 2


def test_a_leader_of_that_name_who_is_here_keeps_the_password():
    mine = factories.leader(username="leader")
    done = demo_load(password="moss-and-cork", beside=True)
    mine.refresh_from_db()
    assert mine.check_password("quiet-soles-27")
    assert done.password == ""


def test_the_site_and_its_hides_are_as_varied_as_promised(demo):
    site = demo.sites.get()
    assert abs(site.latitude_deg - 39.5) < 0.1
    assert abs(site.longitude_deg + 6.2) < 0.1
    assert site.time_zone == "Europe/Madrid"
    assert (str(demo.starts_on), str(demo.ends_on)) == ("2027-05-08", "2027-05-12")
    hides = {hide.name: hide for hide in site.hides.all()}
    assert len(hides) == 5
    assert sum(hide.seats.count() for hide in hides.values()) >= 10
    assert sum(hide.sunken and hide.views.filter(water_edge_m__isnull=False).exists() for hide in hides.values()) == 2
    assert [hide.name for hide in hides.values() if hide.views.count() == 2] == ["Cork Oak"]
    assert [(hide.name, hide.steps > 0) for hide in hides.values() if hide.sought_after] == [("High Table", True)]
    assert [hide.walk_m for hide in hides.values() if hide.walk_m > 400 and hide.doors != "free"] == [450]
    assert demo.cars.count() == 2
    assert demo.sessions.count() == 9


def test_drivers_are_a_leader_somebody_from_outside_and_a_person_who_photographs(demo):
    van, pick_up = demo.cars.order_by("name")
    assert (van.driver_leader, pick_up.driver_name) == (demo.leader, "Benigno")
    driven = models.Run.objects.get(session__trip=demo, driver_place__isnull=False)
    assert (driven.driver_place.trip, driven.driver_place.photographs) == (demo, True)


def test_the_people_bring_truly_different_gear(demo):
    people = Participant.objects.filter(places__trip=demo, places__photographs=True)
    assert people.count() == 8
    assert [place.participant.lenses.count() for place in demo.places.filter(photographs=False)] == [0]
    sensors = {round(36 / body.sensor_width_mm, 1) for body in Body.objects.all()}
    assert {1.0, 1.5, 1.6, 2.1} <= sensors
    assert {lens.focal_max_mm for lens in Lens.objects.all()} >= {300, 800}
    gear = {json.dumps([(lens.focal_max_mm, lens.near_limit_m) for lens in person.lenses.all()]) for person in people}
    assert len(gear) == 8
    assert people.filter(on_paper=True, email="", phone="").count() == 1
    assert [place.steps_limit for place in demo.places.filter(steps_limit__isnull=False)] == [3]
    assert demo.places.exclude(arrives_at=demo.places.earliest("arrives_at").arrives_at).count() == 1
    assert Counter(pair.kind for pair in demo.pairings.all()) == {"together": 1, "apart": 1}
    assert sum(any(letter > "\x7f" for letter in person.name) for person in people) >= 4
    for place in demo.places.filter(photographs=True):
        assert sum(wish.votes for wish in place.wishes.all()) == 6


def test_the_subjects_have_the_lengths_of_the_species_table(demo):
    with SPECIES.open(encoding="utf-8") as stream:
        lines = [line for line in stream if not line.startswith("#")]
    lengths = {row["scientific_name"]: row["length_cm"] for row in csv.DictReader(lines)}
    subjects = list(demo.subjects.all())
    assert len(subjects) == 12
    for subject in subjects:
        low, high = map(float, lengths[subject.scientific_name].split("-"))
        assert (subject.length_min_cm, subject.length_max_cm) == (low, high)


def test_no_number_or_address_in_the_demo_is_anybodys():
    """Telephone numbers of the range kept for fiction, addresses of the name kept for examples (RFC 2606)."""
    text = DEMO_FILE.read_text(encoding="utf-8")
    assert set(re.findall(r"\+\d+ \d+ \d{3}", text)) == {"+44 1632 960"}
    assert set(re.findall(r"@([\w.]+)", text)) == {"example.org"}


def test_the_planner_has_something_to_decide(demo):
    """Everybody can sit somewhere in each session, one near limit fails at one hide, and wishes collide."""
    problem = rota_inputs(trip_values(demo)).problem
    people = {name.split()[0]: number for number, name in enumerate(problem.people)}
    hides = {hide.name: number for number, hide in enumerate(problem.hides)}
    assert (people["Zofia"], hides["Bulrush"]) in problem.cannot
    assert sum(person == people["Zofia"] for person, _ in problem.cannot) == 1
    assert {hide for person, hide in problem.cannot if person == people["Aoife"]} == {
        hides[name] for name in ("Alder", "Bulrush", "High Table")
    }
    lent = demo.gear_away.get()
    assert (lent.piece.participant.name, lent.borrower.participant.name) == ("Ólafur Þórsson", "Willem van Ægten")
    assert {session for person, session in problem.absent if person == people["Ólafur"]} == {0, 1}
    seats = [len(hide.seats) for hide in problem.hides]
    for session in range(len(problem.sessions)):
        open_seats = sum(n for hide, n in enumerate(seats) if (session, hide) not in problem.closed)
        present = len(set(problem.present(session)) - problem.guests)
        assert open_seats >= present
    wanted = Counter(
        max(range(len(hides)), key=lambda hide: row[session][hide])
        for row in problem.points
        for session in range(len(problem.sessions))
    )
    assert any(count > len(problem.sessions) * seats[hide] for hide, count in wanted.items())
    assert all(best > 0 for best in best_alone(problem))


def seated(problem, session, people, taken):
    """Everybody in a hide where they may sit: (person, hide, number of the seat) each; None where there is no way."""
    if not people:
        return []
    for hide in range(len(problem.hides)):
        if problem.may_sit(people[0], session, hide) and taken[hide] < problem.capacity(session, hide):
            rest = seated(problem, session, people[1:], taken + Counter([hide]))
            if rest is not None:
                return [(people[0], hide, taken[hide]), *rest]
    return None


def test_all_of_the_demo_can_be_driven_but_one_midday_that_shows_what_cannot(demo):
    """The early session ends too late for the cars to be back: the page says so, and no driver sits at a wrong drop."""
    values = trip_values(demo)
    inputs = rota_inputs(values)
    drives_then = {(inputs.problem.people[person], session) for person, session, _ in inputs.driven if person >= 0}
    assert drives_then == {("Aoife Ní Dhuibhir", 1)}
    rota = factories.rota(trip=demo)
    for number, session in enumerate(values.session_rows):
        people = set(inputs.problem.present(number)) - inputs.problem.guests
        for person, hide, seat in seated(inputs.problem, number, sorted(people), Counter()):
            where = values.hide_rows[hide]
            turn = {"place": inputs.people[person], "hide": where, "seat": list(where.seats.all())[seat]}
            factories.turn(rota=rota, session=session, **turn)
    faults = TripDrives(rows_of(demo, values.session_rows, values.hide_rows), rota).faults
    names = {session.pk: str(session) for session in values.session_rows}
    assert {names[session] for session in faults} == {"Monday midday"}
    assert {fault.kind for own in faults.values() for fault in own} <= {"car_out", "rider_out"}


def test_a_refusal_of_the_demo_is_a_core_error():
    assert issubclass(RealDataHere, CoreError)
