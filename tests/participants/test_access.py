"""What answers to a participant carry: the edition, no copy outside the device's own store, a session that goes on."""

import re
from datetime import date, timedelta

import pytest
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone

from participants.access import RENEWED_ON
from participants.selectors import edition_of
from participants.session_store import session_digest
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
TODAY, NEXT = date(2027, 5, 3), date(2027, 9, 1)


@pytest.fixture
def trip():
    return issued_trip(people=2, hides=2, sessions=2)


@pytest.fixture
def place(trip):
    return trip.places.first()


def own(name, place):
    return reverse(f"trips:my-{name}", args=[place.participant.uuid])


def test_the_browser_itself_keeps_no_page_of_a_person(place):
    for name in ("days", "wishes", "details", "briefing", "briefing-file"):
        kept = phone_of(place.participant).get(own(name, place)).headers["Cache-Control"]
        assert "no-store" in kept, name
        assert "private" in kept, name


def test_a_page_that_tells_what_was_done_is_not_for_later(place):
    phone = phone_of(place.participant)
    phone.post(own("calendar-replace", place))
    told = phone.get(own("calendar", place))
    assert "The old address is gone." in told.content.decode()
    assert "X-Edition" not in told.headers
    assert phone.get(own("calendar", place)).headers["X-Edition"]


def test_a_page_fetched_for_later_leaves_what_was_done_to_the_page_that_is_looked_at(place):
    phone = phone_of(place.participant)
    phone.post(own("calendar-replace", place))
    fetched = phone.get(own("days", place), headers={"X-Pack": "1"})
    assert "The old address is gone." not in fetched.content.decode()
    assert fetched.headers["X-Edition"]
    assert "The old address is gone." in phone.get(own("calendar", place)).content.decode()


def test_the_edition_is_another_one_when_a_trip_is_over_and_the_pages_are_about_the_next(place):
    person, trip = place.participant, place.trip
    factories.place(participant=person, trip=factories.trip(starts_on=NEXT, ends_on=NEXT))
    last_day = trip.ends_on + timedelta(days=1)  # its last turn may cross midnight
    assert edition_of(person, today=trip.starts_on) == edition_of(person, today=last_day)
    assert edition_of(person, today=last_day) != edition_of(person, today=last_day + timedelta(days=1))


def test_the_edition_is_another_one_when_news_is_read(place):
    person = place.participant
    before = edition_of(person, today=TODAY)
    place.notices.update(read_at=timezone.now())
    assert edition_of(person, today=TODAY) != before


def test_the_edition_is_another_one_when_any_place_changes_however_many_issues_there_are(place):
    person = place.participant
    other = factories.place(participant=person, version=9)
    issue(seated_rota(place.trip))
    seen = [edition_of(person, today=TODAY)]
    for changed in (place, place, other):
        changed.version += 1
        changed.save()
        seen.append(edition_of(person, today=TODAY))
    assert len(set(seen)) == 4


def test_a_session_in_use_goes_on_and_is_renewed_once_a_day(place):
    phone = phone_of(place.participant)
    phone.get(own("days", place))
    key = phone.cookies[django_settings.SESSION_COOKIE_NAME].value
    later = timezone.now() + timedelta(days=1)
    Session.objects.filter(session_key=session_digest(key)).update(expire_date=later)
    assert django_settings.SESSION_COOKIE_NAME not in phone.get(own("pack", place)).cookies
    assert Session.objects.get(session_key=session_digest(key)).expire_date == later
    session = phone.session
    session[RENEWED_ON] = (timezone.now() - timedelta(days=1)).date().isoformat()
    session.save()
    Session.objects.filter(session_key=session_digest(key)).update(expire_date=later)
    answer = phone.get(own("pack", place))
    assert answer.cookies[django_settings.SESSION_COOKIE_NAME]["max-age"] == django_settings.SESSION_COOKIE_AGE
    assert Session.objects.get(session_key=session_digest(key)).expire_date > later + timedelta(days=50)


def test_whose_device_it_is_is_known_longer_than_a_session_lasts(place):
    noted = phone_of(place.participant).cookies["device-of"]
    assert noted["max-age"] > 2 * django_settings.SESSION_COOKIE_AGE


def test_my_start_leads_to_the_pages_that_are_kept_for_the_trip_that_is_next(place):
    other = factories.place(participant=place.participant, trip=factories.trip(starts_on=NEXT, ends_on=NEXT))
    page = phone_of(place.participant).get(own("start", place)).content.decode()
    assert f'href="{own("days", place)}"' in page
    assert f'href="{own("days", place)}?trip={other.trip.uuid}"' in page
    assert str(place.trip.uuid) not in page
    assert phone_of(place.participant).get(own("pack", place)).json()["trip"] == str(place.trip.uuid)


def test_the_letters_of_a_page_are_fetched_ahead_once(place):
    page = phone_of(place.participant).get(own("days", place)).content.decode()
    ahead = re.findall(r'<link rel="preload"[^>]*href="([^"]+)"', page)
    assert len(ahead) == len(set(ahead)) == 2
