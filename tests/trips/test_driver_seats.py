"""Where drivers may sit: what the planner keeps them out of, why, and that its rotas can be driven."""

import pytest
from django.utils import timezone

from tests import factories
from tests.trips.rota_trips import estate, planned, seats_of
from trips import models
from trips.assemble import trip_values
from trips.assemble.drive_rows import rows_of
from trips.assemble.drives import TripDrives
from trips.assemble.rota import rota_inputs
from trips.assemble.rota_result import stored_rota
from trips.assemble.why_cannot_sit import trip_names
from trips.core.rota.problem.values import LEADER
from trips.selectors.rota import changed_since
from trips.selectors.rota_verdict import rota_checked
from trips.services.day import PlannedStop, cars_save, runs_save, runs_seen

pytestmark = pytest.mark.django_db
ALDER, BIRCH, CEDAR = range(3)


def van_of(trip, driver=None, *, drops=(), sessions=()):
    """A van with its driver (a place or a leader), and the hides at which it stops then (else first), in order."""
    column = {"driver_place": driver} if isinstance(driver, models.Place) else {"driver_leader": driver}
    van = models.Car.objects.create(trip=trip, name="van", seats=8, **column if driver else {})
    hides = {hide.name: hide for hide in trip.sites.get().hides.all()}
    for session in sessions or [trip.sessions.first()]:
        run = models.Run.objects.create(session=session, car=van)
        for position, name in enumerate(drops, start=1):
            models.RunStop.objects.create(run=run, hide=hides[name], position=position)
    return van


def inputs_of(trip):
    return rota_inputs(trip_values(models.Trip.objects.get(pk=trip.pk)))


def faults_of(rota):
    values = trip_values(rota.trip)
    found = TripDrives(rows_of(rota.trip, values.session_rows, values.hide_rows), rota).faults
    return [fault for faults in found.values() for fault in faults]


def test_a_driver_sits_at_the_last_drop_of_a_run_and_anywhere_where_no_drops_are_typed():
    trip = estate()
    driver = trip.places.get(participant__name="P1")
    van_of(trip, driver, drops=("Alder", "Cedar", "Birch"))
    assert inputs_of(trip).problem.cannot_then == {(0, 0, ALDER), (0, 0, CEDAR)}


def test_a_hide_that_no_run_names_is_the_drivers_last_drop_where_they_sit_there():
    trip = estate()
    van_of(trip, trip.places.get(participant__name="P1"), drops=("Alder", "Birch"))
    assert inputs_of(trip).problem.cannot_then == {(0, 0, ALDER)}


def test_a_hide_that_is_closed_is_no_later_drop():
    trip = estate()
    van_of(trip, trip.places.get(participant__name="P1"), drops=("Alder", "Cedar", "Birch"))
    birch = trip.sites.get().hides.get(name="Birch")
    shut = {"session": trip.sessions.first(), "hide": birch, "state": models.HideState.UNAVAILABLE}
    models.SessionHide.objects.create(**shut)
    assert inputs_of(trip).problem.cannot_then == {(0, 0, ALDER)}


def test_without_a_driver_of_the_trip_nobody_is_kept_out_of_a_hide():
    trip = estate(leader_policy="never")
    van = van_of(trip, drops=("Alder", "Cedar", "Birch"))
    assert inputs_of(trip).problem.cannot_then == set()
    models.Car.objects.filter(pk=van.pk).update(driver_leader=trip.leader)
    assert inputs_of(trip).problem.cannot_then == set()
    trip.rules.leader_policy = "spare_seats"
    trip.rules.save()
    assert inputs_of(trip).problem.cannot_then == {(LEADER, 0, ALDER), (LEADER, 0, CEDAR)}


def test_no_rota_is_planned_that_the_driver_cannot_drive():
    trip = estate(sessions=3)
    driver = trip.places.get(participant__name="P1")
    van_of(trip, driver, drops=("Alder", "Birch", "Cedar"), sessions=trip.sessions.all())
    rota = planned(trip)
    assert {hide for (name, _), hide in seats_of(rota).items() if name == "P1"} == {"Cedar"}
    assert faults_of(rota) == []
    turn = rota.turns.get(place=driver, session=trip.sessions.first())
    alder = trip.sites.get().hides.get(name="Alder")
    rota.turns.filter(session=turn.session, hide=alder).delete()
    models.Turn.objects.filter(pk=turn.pk).update(hide=alder, seat=alder.seats.first())
    assert "driver_sits" in {fault.kind for fault in faults_of(rota)}
    assert any(
        "P1 cannot sit in Alder (drives the van in " in said for said in rota_checked(stored_rota(rota)).sentences
    )


@pytest.mark.parametrize("change", ["driver", "drops", "no drops"])
@pytest.mark.usefixtures("clock")
def test_a_rota_is_stale_once_a_driver_of_the_trip_has_other_drops(change):
    trip = estate(people=2, sessions=1)
    van = van_of(trip, None if change == "driver" else trip.places.first(), drops=("Alder", "Birch"))
    rota, session = factories.rota(trip=trip, made_at=timezone.now()), trip.sessions.get()
    assert changed_since(rota) is None
    if change == "driver":
        van.driver_place = trip.places.first()
        cars_save(trip=trip, changed=[(van, van.version)], deleted=[])
    else:
        hides = trip.sites.get().hides.order_by("-name")[: 2 if change == "drops" else 0]
        stops = [PlannedStop(hide, van, position) for position, hide in enumerate(hides, start=1)]
        runs_save(session=session, stops=stops, seen=runs_seen(session))
    assert changed_since(rota) is not None


@pytest.mark.usefixtures("clock")
def test_a_car_that_nobody_of_the_trip_drives_makes_no_rota_stale():
    trip = estate(people=2, sessions=1)
    van = van_of(trip, drops=("Alder", "Birch"))
    rota = factories.rota(trip=trip, made_at=timezone.now())
    cars_save(trip=trip, changed=[], deleted=[van])
    assert changed_since(rota) is None


def test_why_a_driver_cannot_sit_there_names_the_car_and_the_hides_that_would_do():
    trip = estate()
    van_of(trip, trip.places.get(participant__name="P1"), drops=("Alder", "Cedar", "Birch"))
    names = trip_names(inputs_of(trip))
    (phrase,) = names.why_cannot_sit[0, ALDER]
    assert phrase.startswith("drives the van in ")
    assert phrase.endswith(", where Birch would do")
    assert names.driving == {(0, ALDER), (0, CEDAR)}
