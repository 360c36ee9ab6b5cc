"""Calendars behind addresses: what they show, and that nothing leaks the address."""

from datetime import timedelta

import icalendar
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from participants.models import AccessLink
from participants.tokens import address_token
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from trips.services.calendars import CalendarOf, calendars_of, feed_address, feed_address_replace
from trips.services.my_data import person_erase

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return issued_trip(people=2, hides=1, sessions=2)


@pytest.fixture
def telephone():
    return Client()


def path_of(address: str) -> str:
    return address[address.index("/calendar/") :]


def feed(kind: str, owner) -> str:
    return path_of(feed_address(kind=kind, owner_uuid=owner.uuid))


def summaries(answer) -> set[str]:
    return {str(event["summary"]) for event in icalendar.Calendar.from_ical(answer.content).events}


def test_a_feed_is_a_calendar_that_nothing_leaks(trip, telephone):
    answer = telephone.get(feed("feed_person", trip.places.first().participant))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "noindex" in answer["X-Robots-Tag"]
    assert "private" in answer["Cache-Control"]
    assert not answer.cookies
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H" in answer.content
    text = answer.content.decode().replace("\r\n ", "")
    assert "trust the page or the paper" in text


def test_a_person_sees_their_own_turns_and_the_leaders_see_all(trip, telephone):
    first, second = trip.places.all()
    own = summaries(telephone.get(feed("feed_person", first.participant)))
    whole = summaries(telephone.get(feed("feed_trip", trip)))
    owner = summaries(telephone.get(feed("feed_owner", trip.sites.get())))
    assert not any(second.participant.name in text for text in own)
    assert any(second.participant.name in text and first.participant.name in text for text in whole)
    assert owner == {text for text in whole if text != trip.name}


def test_an_unchanged_feed_is_answered_with_nothing_new(trip, telephone):
    path = feed("feed_trip", trip)
    first = telephone.get(path)
    again = telephone.get(path, headers={"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again["ETag"] == first["ETag"]
    assert telephone.get(path, headers={"If-None-Match": f"W/{first['ETag']}"}).status_code == 304
    assert telephone.get(path, headers={"If-None-Match": '"another"'}).status_code == 200
    names = [(trip, "name", "Otters"), (trip.sites.get(), "owner_language", "de"), (trip.sites.get(), "name", "Mill")]
    person = trip.places.first().participant
    names += [(person, "name", "Ida"), (person, "language", "es")]
    for row, field, text in names:
        kind = {"Trip": "feed_trip", "Site": "feed_owner"}.get(type(row).__name__, "feed_person")
        before = telephone.get(feed(kind, row))["ETag"]
        type(row).objects.filter(pk=row.pk).update(**{field: text})
        assert telephone.get(feed(kind, row))["ETag"] != before
    path, first = feed("feed_trip", trip), telephone.get(path)
    issue(seated_rota(trip, moves={(0, 0): None}))
    changed = telephone.get(path, headers={"If-None-Match": first["ETag"]})
    assert changed.status_code == 200
    assert changed["ETag"] != first["ETag"]


def test_a_feed_says_the_same_bytes_twice(trip, telephone):
    path = feed("feed_person", trip.places.first().participant)
    assert telephone.get(path).content == telephone.get(path).content


def test_a_replaced_address_is_gone_and_the_new_one_works(trip, telephone):
    person = trip.places.first().participant
    old = feed("feed_person", person)
    new = path_of(feed_address_replace(kind="feed_person", owner_uuid=person.uuid))
    newest = path_of(feed_address_replace(kind="feed_person", owner_uuid=person.uuid))
    assert len({old, new, newest}) == 3
    for gone in (old, new):
        answer = telephone.get(gone)
        assert answer.status_code == 410
        assert b"BEGIN:VCALENDAR" not in answer.content
        assert answer["Referrer-Policy"] == "no-referrer"
    assert telephone.get(newest).status_code == 200


def test_a_made_up_address_is_a_404(trip, telephone):
    person = trip.places.first().participant
    token = address_token(kind="feed_person", owner_uuid=person.uuid, counter=1)
    for wrong in (token[:-1] + ("A" if token[-1] != "A" else "B"), token.replace(".1.", ".2."), "x", token[1:]):
        assert telephone.get(reverse("trips:feed-show", args=[wrong])).status_code == 404


def test_a_genuine_token_of_another_kind_opens_no_calendar(trip, telephone):
    person = trip.places.first().participant
    token = address_token(kind="handed", owner_uuid=person.uuid, counter=1)
    assert telephone.get(reverse("trips:feed-show", args=[token])).status_code == 410


def test_a_token_that_was_never_given_out_is_gone(trip, telephone):
    token = address_token(kind="feed_trip", owner_uuid=trip.uuid, counter=1)
    assert not AccessLink.objects.filter(kind="feed_trip").exists()
    assert telephone.get(reverse("trips:feed-show", args=[token])).status_code == 410


def test_before_the_first_issue_a_feed_is_an_empty_calendar(telephone):
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    seated_rota(trip)
    answer = telephone.get(feed("feed_person", trip.places.get().participant))
    assert answer.status_code == 200
    assert icalendar.Calendar.from_ical(answer.content).events == []


def test_the_turns_of_a_place_that_was_given_up_are_cancelled_by_the_next_issue(trip, telephone):
    place = trip.places.first()
    path = feed("feed_person", place.participant)
    place.state = "cancelled"
    place.save()
    issue(seated_rota(trip, moves={(0, 0): None, (0, 1): None}))
    events = icalendar.Calendar.from_ical(telephone.get(path).content).events
    assert {str(event["status"]) for event in events} == {"CANCELLED"}
    assert len(events) == 4


def test_the_hides_of_a_site_that_left_a_trip_are_cancelled_by_the_next_issue(trip, telephone):
    site, other = trip.sites.get(), factories.site(leader=trip.leader)
    path = feed("feed_owner", site)
    before = {str(event["uid"]) for event in icalendar.Calendar.from_ical(telephone.get(path).content).events}
    trip.sites.set([other])
    issue(factories.rota(trip=trip))
    events = icalendar.Calendar.from_ical(telephone.get(path).content).events
    assert {str(event["uid"]) for event in events} == before
    assert {str(event["status"]) for event in events} == {"CANCELLED"}
    assert calendars_of("feed_owner", other.uuid) == [CalendarOf(trip, site=other)]


def test_a_site_that_only_drafts_sat_in_has_no_calendar_of_that_trip(trip):
    draft = factories.planned_trip(people_count=1, hides=1, sessions=1)
    site = draft.sites.get()
    seated_rota(draft)
    draft.sites.clear()
    assert calendars_of("feed_owner", site.uuid) == []


def test_an_erased_persons_feed_is_gone_and_their_name_is_out_of_the_others(trip, telephone):
    first, second = trip.places.all()
    name, path, other = first.participant.name, feed("feed_person", first.participant), feed("feed_trip", trip)
    assert name in telephone.get(other).content.decode().replace("\r\n ", "")
    person_erase(person=first.participant)
    assert telephone.get(path).status_code == 410
    assert name not in telephone.get(other).content.decode().replace("\r\n ", "")
    assert name not in telephone.get(feed("feed_person", second.participant)).content.decode().replace("\r\n ", "")


def test_a_person_of_two_trips_has_both_in_one_feed(trip, telephone):
    person = trip.places.first().participant
    other = factories.planned_trip(people_count=0, hides=1, sessions=1)
    factories.place(trip=other, participant=person)
    issue(seated_rota(other))
    seen = summaries(telephone.get(feed("feed_person", person)))
    assert {f"Arrival: {trip.name}", f"Arrival: {other.name}"} <= seen


def test_reading_a_feed_asks_a_fixed_number_of_times(trip, telephone, django_assert_num_queries):
    path = feed("feed_person", trip.places.first().participant)
    with django_assert_num_queries(6):
        telephone.get(path)
    for _ in range(3):
        issue(seated_rota(trip))
    with django_assert_num_queries(6):
        telephone.get(path)


@pytest.mark.parametrize(("kind", "asks"), [("feed_person", 2), ("feed_trip", 2), ("feed_owner", 3)])
def test_that_nothing_changed_is_known_without_what_issues_kept(trip, telephone, kind, asks):
    owner = {"feed_person": trip.places.first().participant, "feed_trip": trip, "feed_owner": trip.sites.get()}[kind]
    path = feed(kind, owner)
    mark = telephone.get(path)["ETag"]
    with CaptureQueriesContext(connection) as asked:
        assert telephone.get(path, headers={"If-None-Match": mark}).status_code == 304
    assert len(asked) == asks
    assert not any('"events"' in one["sql"] or '"pages"' in one["sql"] for one in asked)


def test_a_feed_goes_on_with_a_new_key_while_the_one_before_is_named(trip, telephone, settings):
    path, before = feed("feed_trip", trip), settings.SECRET_KEY
    settings.SECRET_KEY = "another key"
    assert telephone.get(path).status_code == 404
    settings.SECRET_KEY_FALLBACKS = [before]
    assert telephone.get(path).status_code == 200


def test_only_reading_is_possible(trip, telephone):
    path = feed("feed_trip", trip)
    assert telephone.post(path).status_code == 405
    assert telephone.head(path).status_code == 200


def test_a_revoked_address_is_gone(trip, telephone):
    path = feed("feed_trip", trip)
    AccessLink.objects.filter(kind="feed_trip").update(revoked_at=timezone.now() - timedelta(days=1))
    assert telephone.get(path).status_code == 410


def test_an_owner_who_is_no_more_has_no_calendars(trip):
    assert calendars_of("feed_trip", factories.participant().uuid) is None
    assert calendars_of("feed_owner", trip.uuid) is None
    assert calendars_of("feed_person", trip.uuid) is None
