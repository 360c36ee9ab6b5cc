"""What a leader's device keeps without a network: which pages, in which edition, and what it never keeps."""

from datetime import timedelta

import pytest
from django.urls import reverse

from participants.models import HealthNote
from tests import factories
from tests.frozen_clock import clock_of
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.models import Happening, Trip

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return Trip.objects.get(pk=made.pk)


def pack(client, trip, at=START):
    with clock_of("trips.views.safety", at):
        return client.get(url("leader-pack", trip)).json()


def test_it_keeps_today_and_tomorrow_who_is_out_and_every_hide(as_leader, trip, session):
    said = pack(as_leader, trip, START - timedelta(hours=10))
    day = url("day-show", trip)
    assert said["leader"] == f"leader-{trip.leader.pk}"
    assert said["paths"][:3] == [url("board-show", trip), day, f"{day}?day=2027-05-08"]
    near = trip.sessions.filter(starts_at__lt=START + timedelta(hours=26))
    hides = trip.sites.get().hides.all()
    wanted = [reverse("trips:rota-show", args=[trip.uuid]), *(url("out-show", trip, one) for one in near)]
    wanted += [url("emergency-show", trip, hide) for hide in hides]
    assert set(wanted) <= set(said["paths"])
    assert url("out-show", trip, session) in pack(as_leader, trip, START + timedelta(hours=20))["paths"]


def test_each_kept_page_says_whose_it_is_and_none_has_a_health_note(as_leader, trip):
    for place in trip.places.all():
        HealthNote.objects.create(participant=place.participant, text="blue inhaler")
    for path in pack(as_leader, trip)["paths"]:
        answer = as_leader.get(path)
        assert answer.headers["X-Kept-By"] == f"leader-{trip.leader.pk}", path
        assert "inhaler" not in answer.content.decode()


def test_neither_a_part_nor_another_page_nor_what_was_just_done_is_kept(as_leader, trip, session):
    out = url("out-show", trip, session)
    for answer in (
        as_leader.get(out, headers={"HX-Request": "true"}),
        as_leader.get(url("person-list", trip)),
        as_leader.post(url("out-tick", trip, session), {"who": "", "what": "out"}, follow=True),
    ):
        assert answer.status_code == 200
        assert "X-Kept-By" not in answer.headers


def test_a_new_edition_follows_what_the_pages_show(as_leader, trip, session, django_assert_max_num_queries):
    with django_assert_max_num_queries(16):
        first = pack(as_leader, trip)["edition"]
    assert pack(as_leader, trip)["edition"] == first
    Happening.objects.create(trip=trip, kind="out", session=session, place=trip.places.first(), at=START)
    second = pack(as_leader, trip)["edition"]
    hide = trip.sites.get().hides.first()
    hide.nearest_road = "ridge track"
    hide.save()
    assert len({first, second, pack(as_leader, trip)["edition"]}) == 3


def test_a_closed_estates_hides_are_not_kept(as_leader, trip):
    stranger = factories.hide()
    trip.sites.add(stranger.site)
    assert url("emergency-show", trip, stranger) not in pack(as_leader, trip)["paths"]
