"""On the day: the owner's say, cars and rounds, call times, who is out and back."""

import re
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from unittest import mock
from uuid import uuid4

import pytest
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models
from trips.documents.overdue import RescueFacts, escalation

pytestmark = pytest.mark.django_db
START = factories.FIRST_START  # 06:45 at the site
AFTER_PICK_UP = START + timedelta(hours=4, minutes=1)


made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


@pytest.fixture
def session(trip):
    return trip.sessions.first()


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def clock_at(moment):
    """The pages of the day look at a clock that shows this moment; sign-ins keep the real one."""
    return mock.patch("trips.views.day.timezone", SimpleNamespace(now=lambda: moment))


def url(name, trip, session=None, **query):
    arguments = [trip.uuid] + ([session.uuid] if session else [])
    return reverse(f"trips:{name}", args=arguments, query=query or None)


def day(client, trip):
    return client.get(url("day-show", trip, day="2027-05-08")).content.decode()


def owner_data(session, **of_hides):
    """The owner's form as a browser sends it, with changes by hide name."""
    data = {}
    for hide in session.site.hides.all():
        say = session.session_hides.filter(hide=hide).first()
        values = {"state": "ready", "notice_h": "", "reason": "", "seen_version": say.version if say else 0}
        values |= of_hides.get(hide.name, {})
        data |= {f"hide-{hide.uuid}-{key}": value for key, value in values.items()}
    return data


def first_hide(trip):
    return trip.sites.get().hides.first()


# --- the day ---------------------------------------------------------------------------------------------------------


def test_the_day_shows_people_call_times_and_what_the_owner_says(as_leader, trip, session):
    models.SessionHide.objects.create(session=session, hide=first_hide(trip), state="unavailable", reason="hunting")
    page = day(as_leader, trip)
    assert "Early, 06:45 to 10:45" in page
    assert "hunting" in page
    to_rota = reverse("trips:rota-number", args=[trip.uuid, 1])
    assert f'People sit here: <a href="{to_rota}">move them in the rota</a>.' in page
    assert "By rota 1, as issued." in page
    for place in trip.places.all():
        assert place.participant.name in page


def test_one_car_for_two_hides_leaves_as_the_sum_says(as_leader, trip, session):
    """In place at 06:45, 15 min to set up, 2 min on foot, 10 min drive, and 5 min for the drop before."""
    assert "06:13" in day(as_leader, trip)


def test_a_car_for_each_hide_leaves_later(as_leader, trip, session):
    first, second = trip.sites.get().hides.all()[:2]
    for hide in (first, second):
        car = models.Car.objects.create(trip=trip, name=f"car to {hide.name}", seats=4)
        models.RunStop.objects.create(run=models.Run.objects.create(session=session, car=car), hide=hide, position=1)
    page = day(as_leader, trip)
    assert page.count("06:18") >= 2
    assert f"car to {first.name}" in page


def test_people_without_a_seat_in_the_cars_are_counted(as_leader, trip, session):
    models.Car.objects.create(trip=trip, name="small car", seats=3)
    assert "1 person has no seat in a car" in day(as_leader, trip)


def test_the_leader_is_asked_before_people_are_fetched_from_front_light(as_leader, trip):
    """West-looking hides at 10:30: the sun stands behind the seats, less than 45 degrees to the side."""
    assert "Ask first" in day(as_leader, trip)


def test_a_day_without_sessions_leads_to_the_sessions_page(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    page = client.get(url("day-show", trip)).content.decode()
    assert "No session yet" in page
    assert url("sessions-make", trip) in page


def test_today_is_shown_unless_another_day_is_asked_for(as_leader, trip):
    with clock_at(START + timedelta(days=1)):
        page = as_leader.get(url("day-show", trip)).content.decode()
    assert '<a href="?day=2027-05-09" aria-current="page">' in page
    assert as_leader.get(url("day-show", trip, day="soon")).status_code == 200


def test_the_day_asks_the_database_a_fixed_number_of_times(as_leader, trip, django_assert_num_queries):
    with django_assert_num_queries(25) as seen:
        day(as_leader, trip)
    larger = issued_trip(people=6, hides=4, sessions=6)
    as_leader.force_login(larger.leader)
    with django_assert_num_queries(len(seen)):
        day(as_leader, larger)


def test_a_car_that_leaves_the_evening_before_says_on_which_day(as_leader, trip, session):
    assert "<strong>on" not in day(as_leader, trip)
    first_hide(trip).site.hides.update(drive_min=600)
    assert "on 7 May</strong>" in day(as_leader, trip)


# --- the owner's say -------------------------------------------------------------------------------------------------


def test_what_the_owner_says_is_saved_for_that_session_alone(as_leader, trip, session):
    hide = first_hide(trip)
    data = owner_data(session, **{hide.name: {"state": "unavailable", "reason": "farm work"}})
    answer = as_leader.post(url("owner-edit", trip, session), data)
    assert answer.status_code == 302
    say = models.SessionHide.objects.get()
    assert (say.session, say.hide, say.state, say.reason) == (session, hide, "unavailable", "farm work")


def test_a_no_needs_a_reason_and_notice_its_hours(as_leader, trip, session):
    one, two = trip.sites.get().hides.all()[:2]
    data = owner_data(session, **{one.name: {"state": "unavailable"}, two.name: {"state": "notice"}})
    answer = as_leader.post(url("owner-edit", trip, session), data)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "Say why" in page
    assert "Say how many hours of notice the owner needs." in page
    assert page.count('role="alert"') == 2
    assert not models.SessionHide.objects.exists()


def test_own_hours_are_read_by_the_sites_clock_and_refused_where_it_has_none(as_leader, trip, session):
    hide = first_hide(trip)
    hours = {"starts_at_day": "2027-05-08", "starts_at_clock": "07:30", "state": "ready"}
    as_leader.post(url("owner-edit", trip, session), owner_data(session, **{hide.name: hours}))
    assert models.SessionHide.objects.get().starts_at == datetime(2027, 5, 8, 5, 30, tzinfo=UTC)
    wrong = hours | {"starts_at_day": "2027-03-28", "starts_at_clock": "02:30"}
    answer = as_leader.post(url("owner-edit", trip, session), owner_data(session, **{hide.name: wrong}))
    assert "clocks go from 02:00 to 03:00" in answer.content.decode()


@pytest.mark.parametrize(
    ("edge", "day", "clock", "sentence"),
    [
        ("starts_at", "2029-05-08", "07:30", "People cannot sit there at all then"),
        ("starts_at", "2027-05-08", "10:45", "People cannot sit there at all then"),
        ("ends_at", "2027-05-08", "06:45", "People cannot sit there at all then"),
        ("ends_at", "2027-05-09", "06:46", "Own hours last 24 hours at most"),
    ],
)
def test_own_hours_touch_the_session(as_leader, trip, session, edge, day, clock, sentence):
    hours = {f"{edge}_day": day, f"{edge}_clock": clock}
    answer = as_leader.post(url("owner-edit", trip, session), owner_data(session, **{first_hide(trip).name: hours}))
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert "early on 8 May, 06:45 to 10:45" in answer.content.decode()
    assert not models.SessionHide.objects.exists()


def test_own_hours_may_begin_before_the_session_and_go_on_after_it(as_leader, trip, session):
    hours = {"starts_at_day": "2027-05-08", "starts_at_clock": "05:00"}
    hours |= {"ends_at_day": "2027-05-08", "ends_at_clock": "12:00"}
    where, data = url("owner-edit", trip, session), owner_data(session, **{first_hide(trip).name: hours})
    assert as_leader.post(where, data).status_code == 302


def test_the_second_to_save_an_old_form_keeps_what_they_typed(as_leader, trip, session):
    hide = first_hide(trip)
    old = owner_data(session, **{hide.name: {"state": "unavailable", "reason": "typed by the second"}})
    models.SessionHide.objects.create(session=session, hide=hide, state="unavailable", reason="by the first")
    answer = as_leader.post(url("owner-edit", trip, session), old)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "changed since you opened it" in page
    assert "typed by the second" in page
    assert models.SessionHide.objects.get().reason == "by the first"


# --- cars and rounds -------------------------------------------------------------------------------------------------


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


def test_rounds_are_saved_in_order_and_call_times_follow(as_leader, trip, session):
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


# --- out and back ----------------------------------------------------------------------------------------------------


def tick(client, trip, session, who, what, at=START):
    with clock_at(at):
        return client.post(url("out-tick", trip, session), {"who": who, "what": what}, follow=True).content.decode()


def who_is_out(client, trip, session, at=START):
    with clock_at(at):
        return client.get(url("out-show", trip, session)).content.decode()


def key(place):
    return f"place-{place.uuid}"


def test_a_tick_notes_the_time_and_who_ticked(as_leader, trip, session):
    place = trip.places.first()
    page = tick(as_leader, trip, session, key(place), "out", START - timedelta(minutes=24))
    assert "since 06:21" in page
    row = models.OutBack.objects.get()
    assert (row.place, row.ticked_by, row.out_at) == (place, trip.leader, START - timedelta(minutes=24))
    page = tick(as_leader, trip, session, key(place), "back", START + timedelta(hours=4))
    assert "10:45, out 06:21" in page


def test_the_second_leader_to_tick_is_told_of_the_first(as_leader, trip, session):
    place = trip.places.first()
    tick(as_leader, trip, session, key(place), "out")
    page = tick(as_leader, trip, session, key(place), "out", START + timedelta(minutes=3))
    assert "was ticked already at 06:45" in page
    assert models.OutBack.objects.get().out_at == START


def test_all_of_a_hide_go_out_and_come_back_with_one_press(as_leader, trip, session):
    hide = models.Turn.objects.filter(session=session).first().hide
    together = re.compile(r'name="who" value="([^"]+ [^"]+)"><input type="hidden" name="what" value="(\w+)"')
    (out, _), *_ = together.findall(who_is_out(as_leader, trip, session))
    page = tick(as_leader, trip, session, out, "out")
    assert models.OutBack.objects.filter(hide=hide, out_at=START).count() == 2
    back = next(who for who, what in together.findall(page) if what == "back")
    assert back == out
    tick(as_leader, trip, session, back, "back", AFTER_PICK_UP)
    assert models.OutBack.objects.filter(back_at=AFTER_PICK_UP).count() == 2


# A tick that waited on the phone for a network


def late_tick(client, trip, session, who, what, at, waited_s, **more):
    """What the server answers a tick that arrives at `at` after it waited."""
    headers = {"X-Queued": "1", "X-Queued-Seconds": str(waited_s)}
    with clock_at(at):
        answer = client.post(url("out-tick", trip, session), {"who": who, "what": what} | more, headers=headers)
    return answer.json()


def test_a_tick_that_waited_has_the_moment_of_the_tap_and_is_taken_once(as_leader, trip, session):
    who, sent = key(trip.places.first()), {"client_uuid": str(uuid4())}
    late = START + timedelta(minutes=90)
    for _ in range(2):
        said = late_tick(as_leader, trip, session, who, "out", late, 90 * 60, **sent)
        assert said == {"taken": True, "errors": []}
    assert models.OutBack.objects.get().out_at == START
    late_tick(as_leader, trip, session, who, "undo", late, 0)
    late_tick(as_leader, trip, session, who, "out", late, 90 * 60, **sent)  # once more: it was taken already
    assert not models.OutBack.objects.exists()


def test_the_earlier_of_two_taps_stays_and_the_later_one_is_no_fault(as_leader, trip, session):
    who = key(trip.places.first())
    tick(as_leader, trip, session, who, "out", START)
    assert late_tick(as_leader, trip, session, who, "out", START + timedelta(hours=1), 30 * 60)["taken"]
    assert models.OutBack.objects.get().out_at == START
    assert late_tick(as_leader, trip, session, who, "out", START + timedelta(hours=1), 70 * 60)["taken"]
    assert models.OutBack.objects.get().out_at == START - timedelta(minutes=10)
    tick(as_leader, trip, session, who, "back", START + timedelta(hours=4))
    assert late_tick(as_leader, trip, session, who, "back", START + timedelta(hours=5), 90 * 60)["taken"]
    assert models.OutBack.objects.get().back_at == START + timedelta(hours=3, minutes=30)


def test_back_before_out_is_refused_in_words(as_leader, trip, session):
    who = key(trip.places.first())
    tick(as_leader, trip, session, who, "out", START)
    said = late_tick(as_leader, trip, session, who, "back", START + timedelta(hours=1), 2 * 3600)
    assert not said["taken"]
    assert "was ticked out at 06:45, which is later" in said["errors"][0]
    assert models.OutBack.objects.get().back_at is None


@pytest.mark.parametrize("waited_s", ["-5", "soon", "99999999999", "1e3", ""])
def test_a_wait_that_cannot_be_counts_as_none(as_leader, trip, session, waited_s):
    late_tick(as_leader, trip, session, key(trip.places.first()), "out", START, waited_s)
    assert models.OutBack.objects.get().out_at == START


def test_a_tick_of_somebody_whose_turn_is_gone_says_so(as_leader, trip, session):
    said = late_tick(as_leader, trip, session, key(factories.place()), "out", START, 60)
    assert not said["taken"]
    assert "has no seat in it any more" in said["errors"][0]


def test_a_tick_can_be_taken_back_step_by_step(as_leader, trip, session):
    who = key(trip.places.first())
    tick(as_leader, trip, session, who, "out")
    tick(as_leader, trip, session, who, "back")
    tick(as_leader, trip, session, who, "undo")
    assert models.OutBack.objects.get().back_at is None
    tick(as_leader, trip, session, who, "undo")
    assert not models.OutBack.objects.exists()
    assert "nothing to take back" in tick(as_leader, trip, session, who, "undo")


def test_who_is_not_back_after_the_pick_up_window_is_overdue_with_the_order_of_help(as_leader, trip, session):
    first, second = trip.places.all()[:2]
    site = trip.sites.get()
    site.emergency_number, site.owner, site.radio = "112", "Benigno", "channel 4"
    site.save()
    first.participant.phone = "+44 1632 960101"
    first.participant.save()
    tick(as_leader, trip, session, key(first), "out")
    assert "Overdue" not in who_is_out(as_leader, trip, session, START + timedelta(hours=4))
    page = who_is_out(as_leader, trip, session, AFTER_PICK_UP)
    assert page.count("Not back") >= 2
    assert "out since 06:45" in page
    assert "nobody ticked them out" in page
    steps = [page.index(words) for words in ("Call: ", "Two people drive to", "Tell the owner: Benigno", "Call 112")]
    assert steps == sorted(steps)
    tick(as_leader, trip, session, key(first), "back", AFTER_PICK_UP)
    tick(as_leader, trip, session, key(second), "back", AFTER_PICK_UP)
    assert not [row for row in models.OutBack.objects.all() if row.back_at is None]


def test_nobody_is_overdue_where_nobody_was_ticked_at_all(as_leader, trip, session):
    assert "Overdue" not in who_is_out(as_leader, trip, session, AFTER_PICK_UP + timedelta(days=3))


def test_a_leaders_own_turn_is_ticked_too(as_leader, trip, session):
    hide = trip.sites.get().hides.last()
    rota = trip.rotas.get(state="issued")
    factories.turn(rota=rota, session=session, hide=hide, seat=hide.seats.first(), leader=trip.leader)
    tick(as_leader, trip, session, f"leader-{trip.leader.pk}", "out")
    assert models.OutBack.objects.get().leader == trip.leader


@pytest.mark.parametrize("who", ["", "place-", "everybody", "leader-99999999999999999999", "place-" + "0" * 36])
def test_a_tick_of_nobody_changes_nothing(as_leader, trip, session, who):
    assert "Nobody of this session was named" in tick(as_leader, trip, session, who, "out")
    assert not models.OutBack.objects.exists()


def test_a_person_of_another_trip_cannot_be_ticked(as_leader, trip, session):
    stranger = factories.place()
    tick(as_leader, trip, session, key(stranger), "out")
    assert not models.OutBack.objects.exists()


def test_the_list_renews_itself_as_a_part_of_the_page(as_leader, trip, session):
    part = as_leader.get(url("out-show", trip, session), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert trip.places.first().participant.name in part


def test_who_is_out_asks_the_database_a_fixed_number_of_times(as_leader, trip, session, django_assert_num_queries):
    with django_assert_num_queries(27) as seen:
        as_leader.get(url("out-show", trip, session))
    larger = issued_trip(people=6, hides=4, sessions=6)
    path = url("out-show", larger, larger.sessions.first())
    as_leader.force_login(larger.leader)
    with django_assert_num_queries(len(seen)):
        as_leader.get(path)


def test_what_is_missing_in_the_order_of_help_says_to_follow():
    steps = escalation(RescueFacts("Alder", 10))
    assert len(steps) == 4
    assert all("None" not in step and "  " not in step for step in steps)
    assert sum("to follow" in step for step in steps) == 3


def test_a_telephone_number_stands_in_order_beside_a_name_from_right_to_left():
    steps = escalation(
        RescueFacts("אלון 3", 10, phones=(("אבי", "600 000 001"),), owner="דן", owner_contact="600 000 002")
    )
    assert steps[0] == "Call: \u2068אבי\u2069 600 000 001."
    assert steps[1].startswith("Two people drive to \u2068אלון 3\u2069, about 10 min;")
    assert steps[2] == "Tell the owner: \u2068דן\u2069 600 000 002."
