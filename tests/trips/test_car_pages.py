"""Cars and rounds: added, ordered, used again, and refused."""

import pytest

from tests import factories
from tests.trips.day_pages import day, first_hide, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


def cars_data(trip, *lines):
    data = {"car-TOTAL_FORMS": len(lines), "car-INITIAL_FORMS": trip.cars.count()}
    for number, line in enumerate(lines):
        data |= {f"car-{number}-{key}": value for key, value in line.items()}
    return data


def test_cars_are_added_changed_and_taken_away(as_leader, trip):
    line = {"name": "grey van", "plate": "DEMO 1", "seats": "6", "driver": "Nuria"}
    as_leader.post(url("cars-edit", trip), cars_data(trip, line, {"name": "", "seats": "4"}))
    car = trip.cars.get()
    assert (car.name, car.seats, car.driver) == ("grey van", 6, "Nuria")
    line |= {"id": car.pk, "seats": "7", "seen_version": car.version}
    assert as_leader.post(url("cars-edit", trip), cars_data(trip, line)).status_code == 302
    car.refresh_from_db()
    assert car.seats == 7
    stale = as_leader.post(url("cars-edit", trip), cars_data(trip, line | {"seats": "8"}))
    assert "changed since you opened it" in stale.content.decode()
    line |= {"seen_version": car.version, "DELETE": "on"}
    as_leader.post(url("cars-edit", trip), cars_data(trip, line))
    assert not trip.cars.exists()


def test_a_car_of_a_name_that_another_leader_took_meanwhile_is_told_and_kept(as_leader, trip):
    line = {"name": "grey van", "seats": "6"}
    data = cars_data(trip, line)
    as_leader.post(url("cars-edit", trip), data)
    answer = as_leader.post(url("cars-edit", trip), data | {"car-0-driver": "typed by the second"})
    assert answer.status_code == 200
    assert "Somebody added a car named grey van" in answer.content.decode()
    assert "typed by the second" in answer.content.decode()
    assert trip.cars.count() == 1


def test_two_cars_of_one_name_and_a_car_without_seats_are_refused(as_leader, trip):
    line = {"name": "grey van", "seats": "6"}
    page = as_leader.post(url("cars-edit", trip), cars_data(trip, line, line)).content.decode()
    assert 'role="alert"' in page
    page = as_leader.post(url("cars-edit", trip), cars_data(trip, line | {"seats": "0"})).content.decode()
    assert "A car has at least one seat." in page
    assert not trip.cars.exists()


def stops_data(session, stops, **more):
    data = {"seen": more.pop("seen", "")} | more
    for hide in session.site.hides.all():
        car, position, leg = stops.get(hide.name, ("", "", ""))
        data |= {
            f"stop-{hide.uuid}-{key}": value
            for key, value in zip(("car", "position", "leg_min"), (car, position, leg), strict=True)
        }
    return data


def test_rounds_are_saved_in_order_and_cars_leave_by_them(as_leader, trip, session):
    van = models.Car.objects.create(trip=trip, name="van", seats=8)
    first, second, _ = trip.sites.get().hides.all()
    stops = {second.name: (van.pk, 1, "8"), first.name: (van.pk, 2, "")}
    answer = as_leader.post(url("runs-edit", trip, session), stops_data(session, stops))
    assert answer.status_code == 302
    assert [(stop.hide, stop.position, stop.leg_min) for stop in session.runs.get().stops.all()] == [
        (second, 1, 8),
        (first, 2, None),
    ]
    # 06:45 - 15 - 2 - 10 - 8 for the longer drop before
    assert "06:10" in day(as_leader, trip)


def test_rounds_can_be_used_for_all_later_sessions(as_leader, trip, session):
    van = models.Car.objects.create(trip=trip, name="van", seats=8)
    hide = first_hide(trip)
    as_leader.post(url("runs-edit", trip, session), stops_data(session, {hide.name: (van.pk, "", "")}, later="on"))
    assert models.Run.objects.filter(car=van).count() == trip.sessions.count()


def test_two_hides_cannot_be_the_same_drop_of_a_car(as_leader, trip, session):
    van = models.Car.objects.create(trip=trip, name="van", seats=8)
    one, two, _ = trip.sites.get().hides.all()
    stops = {one.name: (van.pk, 1, ""), two.name: (van.pk, 1, "")}
    page = as_leader.post(url("runs-edit", trip, session), stops_data(session, stops)).content.decode()
    assert f"{one.name} is this car&#x27;s drop 1 already." in page
    assert not models.Run.objects.exists()


def test_rounds_that_somebody_else_changed_meanwhile_are_kept(as_leader, trip, session):
    van = models.Car.objects.create(trip=trip, name="van", seats=8)
    one, two, _ = trip.sites.get().hides.all()
    models.RunStop.objects.create(run=models.Run.objects.create(session=session, car=van), hide=one, position=1)
    answer = as_leader.post(url("runs-edit", trip, session), stops_data(session, {two.name: (van.pk, 1, "")}))
    assert "changed since you opened it" in answer.content.decode()
    assert models.RunStop.objects.get().hide == one


def test_a_car_of_another_trip_is_refused(as_leader, trip, session):
    other = models.Car.objects.create(trip=factories.trip(), name="not ours", seats=8)
    answer = as_leader.post(
        url("runs-edit", trip, session), stops_data(session, {first_hide(trip).name: (other.pk, 1, "")})
    )
    assert answer.status_code == 200
    assert not models.Run.objects.exists()


def test_a_car_goes_twice_and_each_run_has_its_driver(as_leader, trip, session):
    van = models.Car.objects.create(trip=trip, name="van", seats=8, driver="Benigno")
    one, two, _ = trip.sites.get().hides.all()
    stops = {one.name: (van.pk, 1, ""), two.name: (f"{van.pk}-2", 1, "")}
    drivers = {f"driver-{van.pk}-1-who": f"leader-{trip.leader.pk}", f"driver-{van.pk}-2-driver": "the warden"}
    assert as_leader.post(url("runs-edit", trip, session), stops_data(session, stops, **drivers)).status_code == 302
    runs = {run.number: run for run in session.runs.all()}
    assert (runs[1].driver_leader, runs[2].driver_name) == (trip.leader, "the warden")
    assert [run.stops.get().hide for run in (runs[1], runs[2])] == [one, two]
    form = as_leader.get(url("runs-edit", trip, session)).context["stops"]
    assert [stop["car"].value() for stop in form.forms[:2]] == [str(van.pk), f"{van.pk}-2"]
    assert [one["who"].value() or one["driver"].value() for one in form.drivers] == [
        f"leader-{trip.leader.pk}",
        "the warden",
    ]
    assert "van, run 2, the warden" in " ".join(day(as_leader, trip).split())


def test_a_car_is_driven_by_somebody_of_the_trip_or_by_a_name_and_not_by_both(as_leader, trip):
    place = trip.places.first()
    line = {"name": "van", "seats": "6", "who": f"place-{place.uuid}"}
    as_leader.post(url("cars-edit", trip), cars_data(trip, line))
    car = trip.cars.get()
    assert (car.driver_place, car.driver_name) == (place, place.participant.name)
    both = line | {"id": car.pk, "seen_version": car.version, "driver": "the warden"}
    page = as_leader.post(url("cars-edit", trip), cars_data(trip, both)).content.decode()
    assert "Choose a name or type one, not both." in page
    named = both | {"who": ""}
    as_leader.post(url("cars-edit", trip), cars_data(trip, named))
    car.refresh_from_db()
    assert (car.driver_place, car.driver_name) == (None, "the warden")


def test_cars_and_rounds_saved_without_a_change_are_no_change(as_leader, trip, session):
    for name in ("grey van", "red van"):
        line = {"name": name, "plate": "DEMO 1", "seats": "6", "who": f"leader-{trip.leader.pk}"}
        as_leader.post(url("cars-edit", trip), cars_data(trip, *({"name": ""} for _ in trip.cars.all()), line))
    grey, red = trip.cars.all()
    lines = [line | {"name": car.name, "id": car.pk, "seen_version": car.version} for car in (grey, red)]
    lines[1]["seats"] = "7"
    as_leader.post(url("cars-edit", trip), cars_data(trip, *lines))
    versions = {car.name: car.version for car in trip.cars.all()}
    assert versions == {"grey van": grey.version, "red van": red.version + 1}
    stops = {first_hide(trip).name: (grey.pk, 1, "8")}
    drivers = {f"driver-{grey.pk}-1-driver": "the warden"}

    def saved(**more):
        seen = as_leader.get(url("runs-edit", trip, session)).context["form"]["seen"].value()
        data = stops_data(session, stops, seen=seen, **drivers | more)
        assert as_leader.post(url("runs-edit", trip, session), data).status_code == 302
        return models.Run.objects.get(session=session).pk, models.Trip.objects.get(pk=trip.pk).drives_changed_at

    first = saved()
    assert saved() == first
    assert saved(**{f"driver-{grey.pk}-1-driver": "Benigno"})[1] > first[1]
