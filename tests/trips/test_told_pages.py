"""Who was told of a change: ticks for people without a phone - as the leader, a stranger, a participant."""

import json
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from participants.models import Participant
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.models import Notice, Pairing
from trips.selectors.told import told_sentences

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return issued_trip(people=4, hides=3, sessions=2)


def list_url(trip):
    return reverse("trips:told-list", kwargs={"trip_uuid": trip.uuid})


def tick(client, notice, word, **options):
    trip = notice.place.trip
    address = reverse("trips:told-tick", kwargs={"trip_uuid": trip.uuid, "notice_uuid": notice.uuid})
    return client.post(address, {"tick": word} | options.pop("data", {}), **options)


def test_everybody_is_new_to_the_first_issue_and_nobody_confirmed(as_leader, trip):
    Participant.objects.filter(pk=trip.places.first().participant.pk).update(on_paper=True)
    page = as_leader.get(list_url(trip)).content.decode()
    assert "4 of 4 may not know yet" in page
    assert page.count("All their days.") == 4
    assert page.count(">Not told<") == 4
    assert "reads on paper: tell them" in page


def test_another_sky_and_forecast_are_told_to_everybody_and_read_on_the_phone_and_the_day_sheet(trip):
    """The same rota under another sky asks for four stops more: nobody reads that nothing changes for them."""
    session = trip.sessions.first()
    session.sky = "overcast"
    session.save()
    session.forecasts.create(hour=session.starts_at, air_c=31.0, humidity_pct=40.0)
    issued = issue(seated_rota(trip))
    sentences = [told_sentences(notice.summary, "metric") for notice in issued.notices.all()]
    assert len(sentences) == 4
    for told in sentences:
        assert "the sky is to be overcast (was: clear)" in told[-1]
        assert "the air is to reach 31 °C" in told[0]
    sheet = issued.papers["days"][0]["sessions"][0]
    assert sheet["sky"] == "overcast"
    person = trip.places.first().participant
    page = phone_of(person).get(reverse("trips:my-days", kwargs={"person_uuid": person.uuid})).content.decode()
    assert "soft light, no direction until" in page
    turn = issued.pages["people"][str(trip.places.first().uuid)]["sessions"][0]["turn"]
    assert [view["notices"] for view in turn["views"]] == [[]]
    assert "soft" in {row["light"] for row in turn["views"][0]["rows"]}


def test_told_then_confirmed_then_taken_back(as_leader, trip):
    notice = Notice.objects.first()
    answer = tick(as_leader, notice, "told")
    assert answer["Location"].endswith(f"#notice-{notice.uuid}")
    notice.refresh_from_db()
    assert notice.told_at is not None
    assert notice.confirmed_at is None
    first_told = notice.told_at
    tick(as_leader, notice, "confirmed")
    tick(as_leader, notice, "told")
    notice.refresh_from_db()
    assert notice.told_at == first_told
    assert notice.confirmed_at is not None
    assert "3 of 4 may not know yet" in as_leader.get(list_url(trip)).content.decode()
    tick(as_leader, notice, "unconfirmed")
    notice.refresh_from_db()
    assert (notice.told_at, notice.confirmed_at) == (first_told, None)
    tick(as_leader, notice, "untold")
    notice.refresh_from_db()
    assert notice.told_at is None


def test_whoever_confirms_was_told(as_leader, trip):
    notice = Notice.objects.first()
    tick(as_leader, notice, "confirmed")
    notice.refresh_from_db()
    assert notice.told_at == notice.confirmed_at


def test_what_a_person_read_themselves_is_not_taken_back(as_leader, trip):
    notice = Notice.objects.first()
    phone_of(notice.place.participant).post(
        reverse("trips:my-days-read", kwargs={"person_uuid": notice.place.participant.uuid}),
        {"issue": notice.issue.uuid},
    )
    page = as_leader.get(list_url(trip)).content.decode()
    assert page.count(">Read<") == 1
    assert page.count("data-queue=") == 3
    said = tick(as_leader, notice, "untold", follow=True).content.decode()
    assert "read it on their own page; that stays." in said
    notice.refresh_from_db()
    assert notice.confirmed_at is not None


def test_a_change_names_only_those_it_touches_and_says_what_changed(as_leader, trip):
    Notice.objects.update(told_at=datetime(2027, 1, 1, tzinfo=UTC), confirmed_at=datetime(2027, 1, 1, tzinfo=UTC))
    issue(seated_rota(trip, moves={(0, 1): (0, 1), (1, 1): (0, 0)}))
    page = as_leader.get(list_url(trip)).content.decode()
    assert "2 of 2 may not know yet" in page
    assert page.count("another seat") >= 2
    assert "all confirmed" in page


def test_words_of_a_pairing_stand_nowhere_on_the_page(as_leader, trip):
    first, second = trip.places.all()[:2]
    Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    assert "apart" not in as_leader.get(list_url(trip)).content.decode().replace("data-apart", "")


@pytest.mark.parametrize("word", ["", "maybe", "told told"])
def test_an_unknown_tick_is_explained_and_changes_nothing(as_leader, trip, word):
    notice = Notice.objects.first()
    assert "nothing was ticked" in tick(as_leader, notice, word, follow=True).content.decode()
    notice.refresh_from_db()
    assert notice.told_at is None


def test_a_tick_that_waited_for_a_network_is_taken_once(as_leader, trip):
    notice, sent = Notice.objects.first(), str(uuid.uuid4())
    options = {"headers": {"X-Queued": "1", "X-Queued-Seconds": "5400"}, "data": {"client_uuid": sent}}
    assert json.loads(tick(as_leader, notice, "told", **options).content)["taken"] is True
    notice.refresh_from_db()
    assert timezone.now() - notice.told_at >= timedelta(minutes=90)
    tick(as_leader, notice, "untold")
    assert json.loads(tick(as_leader, notice, "told", **options).content)["taken"] is True
    notice.refresh_from_db()
    assert notice.told_at is None
    said = json.loads(tick(as_leader, notice, "maybe", headers={"X-Queued": "1"}).content)
    assert said == {"taken": False, "errors": ["That button is not known; nothing was ticked."]}


def test_a_trip_without_an_issue_says_the_next_step(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    page = client.get(list_url(trip)).content.decode()
    assert "Nothing was issued yet" in page
    assert reverse("trips:rota-show", kwargs={"trip_uuid": trip.uuid}) in page


def test_the_list_costs_the_same_queries_with_many_issues(as_leader, trip, django_assert_num_queries):
    as_leader.get(list_url(trip))
    with django_assert_num_queries(7) as few:
        as_leader.get(list_url(trip))
    for number in range(3):
        issue(seated_rota(trip, moves={(0, 1): (2, number % 2)}))
    with django_assert_num_queries(len(few.captured_queries)):
        as_leader.get(list_url(trip))


def test_another_trips_leader_and_a_participant_may_not(client, trip):
    notice = Notice.objects.first()
    assert reverse("sign-in") in phone_of(notice.place.participant).get(list_url(trip))["Location"]
    other = factories.trip()
    client.force_login(other.leader)
    assert client.get(list_url(trip)).status_code == 404
    assert tick(client, notice, "told").status_code == 404
    address = reverse("trips:told-tick", kwargs={"trip_uuid": other.uuid, "notice_uuid": notice.uuid})
    assert client.post(address, {"tick": "told"}).status_code == 404
    notice.refresh_from_db()
    assert notice.told_at is None


def test_whom_nobody_told_of_an_earlier_issue_stays_in_sight(as_leader, trip):
    """The next issue changes something for one person alone: the other three know nothing of the first yet."""
    issue(seated_rota(trip, moves={(0, 0): (0, 0), (1, 0): (0, 1), (3, 0): None}))
    assert Notice.objects.count() == 5
    page = as_leader.get(list_url(trip)).content.decode()
    assert '<details class="hide-more" open>' in page
    path = reverse("trips:trip-show", kwargs={"trip_uuid": trip.uuid})
    assert "4 have not confirmed." in as_leader.get(path).content.decode()
    Notice.objects.filter(issue__rota__number=1).update(confirmed_at=timezone.now())
    assert '<details class="hide-more" open>' not in as_leader.get(list_url(trip)).content.decode()
    assert "1 has not confirmed." in as_leader.get(path).content.decode()
