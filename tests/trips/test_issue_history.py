"""The newest issue alone tells pages and calendars, whatever was issued before; earlier payloads are not read."""

import copy
import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from tests.trips.my_days_pages import page_of
from trips.models import Issue, Notice
from trips.services.calendars import HISTORY, feed_address
from trips.services.my_data import person_erase
from trips.services.nightly import ISSUES_DAYS, nightly

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
TAKEN, MOVED = {(0, 1): None}, {(0, 1): None, (0, 0): (1, 0), (2, 0): (0, 0)}
PAYLOADS = ("pages", "papers", "events")


@pytest.fixture
def trip():
    """A rota, then one that takes a turn of the first person, then one that moves another turn of theirs."""
    trip = issued_trip(people=3, hides=2, sessions=2)
    for moves in (TAKEN, MOVED):
        issue(seated_rota(trip, moves=moves))
    return trip


def feed_path(trip) -> str:
    address = feed_address(kind="feed_person", owner_uuid=trip.places.first().participant.uuid)
    return address[address.index("/calendar/") :]


def payloads_read(client, path: str, **headers: str) -> list[str]:
    with CaptureQueriesContext(connection) as found:
        assert client.get(path, headers=headers).status_code < 400
    return [query["sql"] for query in found if any(f'"trips_issue"."{name}"' in query["sql"] for name in PAYLOADS)]


@pytest.mark.parametrize("name", ["my-days", "my-pack", "my-briefing"])
def test_a_persons_page_reads_the_newest_payload_alone(trip, name: str) -> None:
    person = trip.places.first().participant
    phone, path = phone_of(person), reverse(f"trips:{name}", args=[person.uuid])
    Notice.objects.update(read_at=timezone.now())
    few = payloads_read(phone, path)
    issue(seated_rota(trip, moves=MOVED))
    many = payloads_read(phone, path)
    assert len(many) == len(few) <= 2  # the page, and the drawing of the next turn or the briefing
    newest = Issue.objects.latest("issued_at")
    assert all(f'"trips_issue"."id" = {newest.pk}' in sql or newest.uuid.hex in sql.replace("-", "") for sql in many)


def test_a_feed_that_is_as_it_was_reads_no_payload_and_a_new_one_reads_one(trip) -> None:
    path, telephone = feed_path(trip), Client()
    assert len(payloads_read(telephone, path)) == 1
    etag = telephone.get(path)["ETag"]
    assert payloads_read(telephone, path, **{"If-None-Match": etag}) == []
    assert telephone.get(path, headers={"If-None-Match": etag}).status_code == 304
    person_erase(person=trip.places.last().participant)  # whose name others' entries may hold
    assert telephone.get(path, headers={"If-None-Match": etag}).status_code == 200


def told(trip) -> list[str]:
    """What the first person's page and calendar say."""
    page = re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", page_of(trip.places.first()))
    return [page.split("<main")[1], Client().get(feed_path(trip)).content.decode()]


def without_history(row: Issue) -> None:
    """As issues were kept before."""
    events = row.events
    events.pop(HISTORY)
    for calendar in (*events["people"].values(), *events["owners"].values(), events["trip"]):
        calendar[:] = [one for one in calendar if not one.pop("cancelled")]
        for one in calendar:
            del one["sequence"], one["stamped_at"]
    for page in row.pages["people"].values():
        for session in page["sessions"]:
            session.pop("was")
    row.save()


def test_what_was_issued_before_issues_kept_their_history_says_the_same(trip) -> None:
    before = told(trip)
    assert "withdrawn</span> was " in before[0]
    assert "STATUS:CANCELLED" in before[1]
    for row in Issue.objects.all():
        without_history(row)
    assert told(trip) == before
    issue(seated_rota(trip, moves=MOVED))  # the first that keeps it
    page, feed = told(trip)
    assert feed == before[1]
    assert "withdrawn</span> was " in page
    assert Issue.objects.latest("issued_at").events[HISTORY] is True


def test_the_night_empties_what_nobody_sees_and_nothing_that_is_shown_changes(trip) -> None:
    first, second, last = Issue.objects.order_by("issued_at")
    read = Notice.objects.filter(place=trip.places.first(), issue=first)
    read.update(read_at=first.issued_at)
    before = told(trip)
    kept = copy.deepcopy(last.papers)
    assert nightly(now=timezone.now())["issues that nobody sees"] == 0  # papers of the second may be under way
    assert nightly(now=timezone.now() + timedelta(days=ISSUES_DAYS + 1))["issues that nobody sees"] == 2
    for row in (first, second, last):
        row.refresh_from_db()
    assert (first.papers, first.events, second.papers, second.events) == ({}, {}, {}, {})
    assert first.pages, "the first person has not read what changed since"
    assert last.papers == kept
    assert told(trip) == before
    issue(seated_rota(trip, moves=MOVED))
    assert told(trip)[1] == before[1]
    person_erase(person=trip.places.first().participant)
