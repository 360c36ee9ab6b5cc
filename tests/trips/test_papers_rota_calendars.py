"""Calendars of rotas: whose turns they have, and what an issue changes in them."""

from datetime import UTC, datetime, timedelta

import pytest

from tests import factories
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from tests.trips.rota_papers import events_of
from trips.services.calendars import CalendarOf, calendar_bytes, calendar_for_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    made = factories.planned_trip(people_count=2, hides=2, sessions=2)
    made.ends_on = made.starts_on + timedelta(days=1)
    made.save()
    site = made.sites.get()
    site.emergency_number, site.hospital, site.owner = "112", "Hospital del Valle", "Tomás Requejo"
    site.meeting_latitude_deg, site.meeting_longitude_deg = 39.4444, -6.3333
    site.save()
    issue(seated_rota(made))
    return made


def test_a_persons_calendar_has_their_turns_and_their_coming_and_going(trip):
    place = trip.places.first()
    events = events_of(calendar_bytes(CalendarOf(trip, place=place)))
    turns = [event for event in events.values() if isinstance(event.start, datetime)]
    assert len(turns) == 2
    days = sorted(event["dtstart"].to_ical() for event in events.values() if event not in turns)
    assert days == [b"20270508", b"20270509"]
    early = min(turns, key=lambda event: event.start)
    assert early.start == datetime(2027, 5, 8, 4, 18, tzinfo=UTC)  # when the car leaves
    assert early.end == datetime(2027, 5, 8, 9, 0, tzinfo=UTC)  # when it is back
    assert str(early["summary"]) == f"Leave 06:18 - {trip.sites.get().hides.first().name}, left"
    lines = str(early["description"]).split("\n")
    assert lines[0].startswith("600 mm")
    assert lines[1].startswith("Light: ")
    assert str(early["description"]).count("Europe/Madrid") == 1
    assert "Saturday 8 May, clock of Europe/Madrid (UTC+02:00)" in lines
    assert str(early["location"]) == "the lodge gate (39.44440° N, 6.33330° W)"
    (alarm,) = early.walk("VALARM")
    assert alarm["trigger"].dt == timedelta(minutes=-30)


def test_arrival_and_departure_are_at_their_hours(trip):
    place = trip.places.first()
    place.arrives_at = datetime(2027, 5, 7, 14, 0, tzinfo=UTC)
    place.save()
    issue(seated_rota(trip))
    arrival = min(
        events_of(calendar_bytes(CalendarOf(trip, place=place))).values(),
        key=lambda one: one["dtstart"].dt if isinstance(one.start, datetime) else datetime.max.replace(tzinfo=UTC),
    )
    assert (arrival.start, str(arrival["summary"])) == (place.arrives_at, f"16:00 Arrival: {trip.name}")


def test_the_trips_calendar_has_every_hide_and_the_trip_as_days(trip):
    events = events_of(calendar_bytes(CalendarOf(trip)))
    whole = next(event for event in events.values() if not isinstance(event.start, datetime))
    assert (whole["dtstart"].to_ical(), whole["dtend"].to_ical()) == (b"20270508", b"20270510")
    assert len(events) == 1 + 2
    owners = events_of(calendar_bytes(CalendarOf(trip, site=trip.sites.get())))
    assert set(owners) == set(events) - {str(whole["uid"])}


def test_a_changed_turn_changes_one_entry_of_one_person():
    trip = issued_trip(people=3, hides=3, sessions=2)
    moved = trip.places.all()[2]  # sits alone before and after
    before = {place.pk: events_of(calendar_bytes(CalendarOf(trip, place=place))) for place in trip.places.all()}
    issue(seated_rota(trip, moves={(2, 0): (2, 0)}))
    after = {place.pk: events_of(calendar_bytes(CalendarOf(trip, place=place))) for place in trip.places.all()}
    assert {pk: set(events) for pk, events in after.items()} == {pk: set(events) for pk, events in before.items()}
    ((pk, uid),) = [
        (pk, uid)
        for pk, events in after.items()
        for uid, event in events.items()
        if event.to_ical() != before[pk][uid].to_ical()
    ]
    assert pk == moved.pk
    assert after[pk][uid]["sequence"] == before[pk][uid]["sequence"] + 1 == 1
    assert after[pk][uid]["dtstamp"].dt > before[pk][uid]["dtstamp"].dt
    assert trip.sites.get().hides.all()[2].name in after[pk][uid]["summary"]


def test_a_withdrawn_turn_is_cancelled_in_the_calendar():
    trip = issued_trip(people=1, hides=1, sessions=2)
    place = trip.places.get()
    issue(seated_rota(trip, moves={(0, 1): None}))
    states = sorted(str(one["status"]) for one in events_of(calendar_bytes(CalendarOf(trip, place=place))).values())
    assert states == ["CANCELLED", "CONFIRMED", "CONFIRMED", "CONFIRMED"]


def test_a_draft_changes_nothing_in_a_calendar(trip):
    wanted = CalendarOf(trip, place=trip.places.first())
    before = calendar_bytes(wanted)
    seated_rota(trip, moves={(0, 0): None})
    assert calendar_bytes(wanted) == before
    assert calendar_for_file(wanted) == (before, True)
