"""A participant of several trips: whose days a page shows, and by which clock."""

import re
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests import factories
from tests.trips.form_reading import FormReader
from tests.trips.issued_trips import issued_trip, phone_of
from tests.trips.my_days_pages import days, page_of
from trips.models import Notice, Trip

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
OWN_ADDRESS = re.compile(r'="(/my/[0-9a-f-]{36}/[^"]*)"')
CLOCK = re.compile('name="site-zone" content="([^"]*)"')


@pytest.fixture
def trip():
    return issued_trip()


def test_what_was_read_is_of_the_trip_that_the_page_showed(trip, place):
    shown = FormReader(page_of(place)).forms
    (form,) = (form for form in shown if "issue" in form.names)
    today = timezone.now().date()
    later = factories.trip(leader=trip.leader, starts_on=today, ends_on=today)
    factories.place(participant=place.participant, trip=later)
    Trip.objects.filter(pk=trip.pk).update(starts_on=today - timedelta(days=9), ends_on=today - timedelta(days=5))
    phone_of(place.participant).post(form.action, form.sent)
    assert Notice.objects.get(place=place).read_at is not None


def test_the_trip_of_somebody_else_is_404(trip, place):
    stranger = factories.trip()
    assert phone_of(place.participant).get(days(place), {"trip": stranger.uuid}).status_code == 404


def test_a_trip_that_was_asked_for_stays_asked_for_in_the_tabs(trip, place):
    second = factories.place(
        participant=place.participant, trip=factories.trip(leader=trip.leader, name="Second marsh")
    )
    phone = phone_of(place.participant)
    page = phone.get(days(place), {"trip": second.trip.uuid}).content.decode()
    assert "Second marsh" in page
    assert f"/wishes/?trip={second.trip.uuid}" in page
    assert "?trip=" not in phone.get(days(place)).content.decode()


PAGES = [
    "my-days",
    "my-wishes",
    "my-details",
    "my-health",
    "my-data",
    "my-briefing",
    "my-calendar",
    "gear-show",
    "gear-picture",
    "packing-show",
]


def test_every_page_names_the_clock_of_the_trip_that_it_is_about(trip, place):
    elsewhere = factories.site(leader=trip.leader, time_zone="Africa/Windhoek")
    start, end = date(2037, 9, 1), date(2037, 9, 4)
    later = factories.trip(leader=trip.leader, sites=[elsewhere], starts_on=start, ends_on=end)
    factories.place(participant=place.participant, trip=later)
    phone = phone_of(place.participant)
    pages = [reverse(f"trips:{name}", args=[place.participant.uuid]) for name in (*PAGES, "my-start")]
    pages.append(reverse("participants:device-list", args=[place.participant.uuid]))

    def clocks(**asked):
        return {clock for page in pages for clock in CLOCK.findall(phone.get(page, asked).content.decode())}

    assert clocks() == {"Europe/Madrid"}
    assert clocks(trip=later.uuid) == {"Africa/Windhoek"}
    Trip.objects.filter(pk=trip.pk).update(starts_on=date(2026, 1, 1), ends_on=date(2026, 1, 5))
    assert clocks() == {"Africa/Windhoek"}
    later.places.update(state="cancelled")
    assert clocks() == {"Europe/Madrid"}


def test_without_a_trip_no_clock_is_named():
    person = factories.participant()
    page = phone_of(person).get(reverse("trips:my-start", args=[person.uuid])).content.decode()
    assert CLOCK.findall(page) == [""]


def test_my_start_goes_to_the_only_trip_and_lists_several(trip, place):
    phone = phone_of(place.participant)
    start = reverse("trips:my-start", args=[place.participant.uuid])
    assert phone.get(start).url == days(place)
    other = factories.place(participant=place.participant, trip=factories.trip(leader=trip.leader, name="Second marsh"))
    page = phone.get(start).content.decode()
    for address in (days(place), f"{days(place)}?trip={other.trip.uuid}"):
        assert f'href="{address}"' in page


def test_a_trip_that_was_asked_for_stays_asked_for_in_every_link_and_form(trip, place):
    person = place.participant
    body = factories.body(participant=person)
    second = factories.place(participant=person, trip=factories.trip(leader=trip.leader, name="Second marsh"))
    phone, asked = phone_of(person), {"trip": second.trip.uuid}
    pages = [reverse(f"trips:{name}", args=[person.uuid]) for name in (*PAGES, "picture-save")]
    pages += [reverse("trips:piece-new", args=[person.uuid, "lens"])]
    pages += [
        reverse(f"trips:{name}", args=[person.uuid, "body", body.uuid])
        for name in ("piece-edit", "piece-remove", "piece-lost")
    ]
    found = {address for page in pages for address in OWN_ADDRESS.findall(phone.get(page, asked).content.decode())} - {
        f"/my/{person.uuid}/",
        *(f"/my/{person.uuid}/data/{name}/" for name in ("file", "erase")),
    }
    assert len(found) > len(pages)
    assert [address for address in sorted(found) if f"trip={second.trip.uuid}" not in address] == []


def test_a_new_address_of_the_calendar_leaves_the_trip_chosen(trip, place):
    person = place.participant
    second = factories.place(participant=person, trip=factories.trip(leader=trip.leader))
    answer = phone_of(person).post(
        reverse("trips:my-calendar-replace", args=[person.uuid], query={"trip": second.trip.uuid})
    )
    assert answer.url.endswith(f"/calendar/?trip={second.trip.uuid}")
