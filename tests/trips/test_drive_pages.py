"""What cannot be driven, and papers that were told before cars changed: on pages, papers and the trip's path."""

from dataclasses import replace
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.urls import reverse

from tests import factories
from tests.frozen_clock import clock_of
from tests.trips.day_pages import day, url
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from tests.trips.made_once import made_once
from trips import models
from trips.assemble.day_papers import DayPapers
from trips.assemble.days import RotaPages
from trips.documents.briefing import PaperHead
from trips.documents.days import page_of
from trips.documents.meals import MealLine
from trips.services.day import cars_save, runs_save, runs_seen
from trips.services.issue_payload import issue_contents

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)
SAYS = "Cars or drops changed on"


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


@pytest.fixture
def two_at_once(trip):
    """The late session starts 20 minutes after the early one ends: one car, 10 minutes out, is not back."""
    early, late = trip.sessions.all()[:2]
    starts_at = early.ends_at + timedelta(minutes=20)
    models.Session.objects.filter(pk=late.pk).update(starts_at=starts_at, ends_at=starts_at + timedelta(hours=4))
    return trip


def issued_now(trip, clock):
    """Issue the rota again, at the clock's moment."""
    row = issue(seated_rota(trip))
    models.Issue.objects.filter(pk=row.pk).update(issued_at=clock())


def sheet_of(trip):
    """The day sheet of the first day."""
    rota = trip.rotas.get(state="issued")
    made = RotaPages(rota)
    return DayPapers(rota, made, {}).day_sheets(PaperHead("", "", "", ""))[0]


def pages_that_say(client, trip, text):
    """Which of the trip's path, the rota page, the day page and the papers page say a text."""
    pages = {name: client.get(url(name, trip)).content.decode() for name in ("trip-show", "rota-show", "papers")}
    pages["day-show"] = day(client, trip)
    return {name for name, page in pages.items() if text in page}


def test_a_car_that_is_not_back_is_a_fault_on_rota_page_day_page_and_day_sheet(as_leader, two_at_once):
    assert pages_that_say(as_leader, two_at_once, "Cannot be driven") == {"rota-show", "day-show"}
    (fault, *_) = sheet_of(two_at_once).sessions[1].faults
    assert "The car leaves at" in fault
    assert "is back only at" in fault
    assert "Start this session at least" in fault


def test_who_rides_in_a_car_that_is_not_back_reads_to_ask_first(two_at_once):
    issue(seated_rota(two_at_once))
    says = "Your leader has still to settle this drive"
    told = [
        phone_of(place.participant).get(reverse("trips:my-days", args=[place.participant.uuid])).content.decode()
        for place in two_at_once.places.all()
    ]
    assert all(says in page for page in told)
    place = two_at_once.places.first()
    calendar = phone_of(place.participant).get(reverse("trips:my-calendar-file", args=[place.participant.uuid]))
    assert says in calendar.content.decode().replace("\r\n ", "")


def test_who_issues_a_rota_reads_first_what_of_it_cannot_be_driven_and_nothing_of_sessions_that_are_over(
    as_leader, two_at_once
):
    draft = seated_rota(two_at_once)
    where = reverse("trips:rota-issue", args=[two_at_once.uuid, draft.number])
    page = as_leader.get(where).content.decode()
    assert "Not everything can be driven" in page
    assert "is back only at" in page
    assert "Start this session at least" in page
    with clock_of("trips.views.rota", two_at_once.sessions.all()[1].ends_at):
        assert "Not everything can be driven" not in as_leader.get(where).content.decode()


def test_nothing_is_said_where_everything_can_be_driven(as_leader, trip):
    pages = RotaPages(trip.rotas.get())
    assert not any(one.turn.call.unsettled for one in pages.page(trip.places.first()).sessions if one.turn)
    assert pages_that_say(as_leader, trip, "Cannot be driven") == set()
    assert all(not session.faults for session in sheet_of(trip).sessions)


def test_the_day_sheet_says_when_cars_are_back_and_which_meal_people_miss(as_leader, trip):
    """In place 06:45, two hides 10 min away: leave 06:13; fetched at 10:45 and 10:40, back 5 + 10 min later."""
    sheet = sheet_of(trip)
    (run,) = sheet.sessions[0].runs
    assert (run.leaves, run.back) == ("06:13", "back 06:43")
    (fetch,) = sheet.sessions[0].fetches
    assert (fetch.leaves, fetch.back) == ("10:30", "11:00")
    factories.meal(trip=trip, name="Brunch", at="10:50")
    assert "Brunch 10:50: 4 people are away 06:13–11:00." in day(as_leader, trip)
    meals = tuple(MealLine(meal.at, meal.name) for meal in trip.meals.all())
    assert replace(sheet, meals=meals).missed == ("Brunch 10:50: 4 people are away 06:13–11:00. Move it or pack it.",)


def test_a_person_who_drives_reads_what_they_drive_and_is_not_told_to_wait(trip):
    session, place = trip.sessions.all()[0], trip.places.all()[2]
    first, second = trip.sites.get().hides.all()[:2]
    van = trip.cars.create(name="grey van", driver_place=place)
    run = session.runs.create(car=van, number=1)
    for number, hide in enumerate((first, second), start=1):
        run.stops.create(hide=hide, position=number)
    issue(seated_rota(trip))
    phone = phone_of(place.participant)
    page = phone.get(reverse("trips:my-days", args=[place.participant.uuid])).content.decode()
    turn = page.split("data-next-turn")[1].split("</dl>")[0]
    calendar = phone.get(reverse("trips:my-calendar-file", args=[place.participant.uuid])).content.decode()
    calendar = calendar.replace("\r\n ", "").split("BEGIN:VEVENT")[2]
    for text in (turn, calendar):
        assert "Drop people with grey van: leave " in text
        assert f"Fetch people with grey van: leave {second.name} " in text
        assert "wait for the signal" not in text
    _, home = page_of(trip.rotas.get(state="issued").issue.pages["people"][str(place.uuid)]).sessions[0].drives
    assert [hide for hide, _at in home.stops] == [second.name, first.name]


def test_whoever_drives_without_a_turn_has_it_on_phone_and_calendar(trip):
    session, place = trip.sessions.all()[0], trip.places.all()[0]
    models.Run.objects.create(session=session, car=trip.cars.create(name="grey van", driver_place=place))
    issue(seated_rota(trip, moves={(0, 0): None}))
    phone, person = phone_of(place.participant), place.participant
    page = phone.get(reverse("trips:my-days", args=[person.uuid])).content.decode()
    assert "Drop people with grey van: leave " in page.split(f'id="turn-{session.uuid}"')[1].split("</details>")[0]
    calendar = phone.get(reverse("trips:my-calendar-file", args=[person.uuid])).content.decode()
    assert "- you drive grey van" in calendar.replace("\r\n ", "")


def test_a_person_who_drives_sits_at_the_last_drop_or_is_told_off(as_leader, trip):
    place = trip.places.first()
    van = models.Car.objects.create(trip=trip, name="van", seats=8, driver_place=place)
    first, second, _ = trip.sites.get().hides.all()
    session = trip.sessions.first()
    run = models.Run.objects.create(session=session, car=van)
    for position, hide in enumerate((first, second), start=1):
        models.RunStop.objects.create(run=run, hide=hide, position=position)
    page = day(as_leader, trip)
    assert f"{place.participant.name} drives the van" in page
    assert f"Change the order of the drops of the van: {second.name}, {first.name}." in page
    models.Run.objects.exclude(pk=run.pk).delete()
    run.stops.all().delete()
    for position, hide in enumerate((second, first), start=1):
        models.RunStop.objects.create(run=run, hide=hide, position=position)
    early = next(one for one in sheet_of(trip).sessions if one.name == "Early")
    assert not early.faults
    assert early.runs[0].back == f"waits at {first.name}"
    told = RotaPages(trip.rotas.get()).page(place).sessions[0].turn.call
    assert told.drives


@pytest.mark.parametrize("change", ["delete", "rename", "rounds", "order"])
def test_a_changed_car_makes_what_was_issued_stale(clock, as_leader, trip, change):
    van = models.Car.objects.create(trip=trip, name="van", seats=8)
    session = trip.sessions.first()
    run = models.Run.objects.create(session=session, car=van)
    models.RunStop.objects.create(run=run, hide=trip.sites.get().hides.first(), position=1)
    issued_now(trip, clock)
    assert pages_that_say(as_leader, trip, SAYS) == set()
    if change == "delete":
        cars_save(trip=trip, changed=[], deleted=[van])
    elif change == "rename":
        van.plate = "DEMO 9"
        cars_save(trip=trip, changed=[(van, van.version)], deleted=[])
    elif change == "rounds":
        runs_save(session=session, stops=[], seen=runs_seen(session))
    else:
        stop = run.stops.get()
        stop.position = 2
        stop.save()
    assert pages_that_say(as_leader, trip, SAYS) == {"rota-show", "day-show", "papers"}
    states = pages_path(as_leader, trip)
    assert states["Issue it"].state == "next"
    assert "issue it again" in states["Issue it"].words
    assert "times from before" in states["Papers"].words
    issued_now(trip, clock)
    assert pages_that_say(as_leader, trip, SAYS) == set()


def test_a_longer_way_to_a_hide_makes_what_was_issued_stale_on_the_pages_that_show_new_times(clock, as_leader, trip):
    issued_now(trip, clock)
    said = "Something that times rest on"
    assert pages_that_say(as_leader, trip, said) == set()
    hide = trip.sites.get().hides.first()
    hide.drive_min += 10
    hide.save()
    assert pages_that_say(as_leader, trip, said) == {"day-show", "papers"}
    assert "times from before" in pages_path(as_leader, trip)["Papers"].words
    issued_now(trip, clock)
    assert pages_that_say(as_leader, trip, said) == set()


def pages_path(client, trip):
    """The steps of the trip's path by title."""
    return {step.title: step for step in client.get(url("trip-show", trip)).context["path"]}


def test_times_of_a_session_that_is_over_are_never_told(trip):
    early, late = trip.sessions.all()[:2]
    last = models.Issue.objects.get(rota__trip=trip)
    trip.sites.get().hides.update(drive_min=40)
    rota, now = seated_rota(trip), early.ends_at
    told = issue_contents(rota=rota, last=last, now=now)
    key = str(trip.places.first().uuid)
    before, after = page_of(last.pages["people"][key]), page_of(told.pages["people"][key])
    assert after.session(str(early.uuid)) == before.session(str(early.uuid))
    assert after.session(str(late.uuid)).turn.call.leaves_at < before.session(str(late.uuid)).turn.call.leaves_at
    (summary,) = (one.summary for one in told.told if one.place and str(one.place.uuid) == key)
    told_of = {change["session"] for change in summary["changes"]}
    assert str(early.uuid) not in told_of
    assert str(late.uuid) in told_of


def test_a_car_that_leaves_a_little_later_tells_nobody_until_it_adds_up(trip):
    """Drive times of 10 min, then 8, then 4: the car leaves 2 and then 6 minutes later than people were told."""
    hides = trip.sites.get().hides
    hides.update(drive_min=8)
    second = issue(seated_rota(trip))
    assert not second.notices.exists()
    key = str(trip.places.first().uuid)
    first = models.Issue.objects.order_by("issued_at").first()
    times = [page_of(row.pages["people"][key]).sessions[0].turn.call.leaves_at for row in (first, second)]
    assert times[1] - times[0] == timedelta(minutes=2)
    assert first.events["people"][key] != second.events["people"][key]
    hides.update(drive_min=4)
    assert issue(seated_rota(trip)).notices.count() == trip.places.count()


def test_a_rule_of_no_minutes_tells_every_minute(trip):
    models.TripRules.objects.update(later_untold_min=0)
    trip.sites.get().hides.update(drive_min=9)
    trip = models.Trip.objects.get(pk=trip.pk)
    assert issue(seated_rota(trip)).notices.exists()


def test_drivers_typed_by_name_become_people_when_the_tables_are_changed(trip):
    migration = import_module("trips.migrations.0009_cars_and_drivers")
    models.Car.objects.create(trip=trip, name="one", driver=trip.leader.username.upper())
    models.Car.objects.create(trip=trip, name="two", driver=trip.places.first().participant.name)
    models.Car.objects.create(trip=trip, name="three", driver="Benigno")
    before = dict(models.Car.objects.values_list("name", "changed_at"))
    migration.drivers_found(apps, None)
    cars = {car.name: car for car in trip.cars.all()}
    assert (cars["one"].driver_leader, cars["one"].driver) == (trip.leader, "")
    assert (cars["two"].driver_place, cars["two"].driver) == (trip.places.first(), "")
    assert cars["three"].driver_name == "Benigno"
    assert dict(models.Car.objects.values_list("name", "changed_at")) == before


def test_where_people_get_in_is_the_lodge_or_the_meeting_point_by_the_sites_rows(trip):
    site = trip.sites.get()
    site.lodge, site.meeting_point = "the white farmhouse", "the green gate"
    site.save()
    key = str(trip.places.first().uuid)
    for leaves_from, place in (("lodge", "the white farmhouse"), ("meeting", "the green gate")):
        models.Site.objects.update(cars_leave_from=leaves_from)
        row = issue(seated_rota(models.Trip.objects.get(pk=trip.pk)))
        turns = [one for one in row.events["people"][key] if one["summary"].startswith("Leave")]
        assert {one["location"] for one in turns} == {place}
