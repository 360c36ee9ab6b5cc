"""Why there is no rota, and its remedies: each a button, taken once, or refused."""

import pytest
from django.utils import timezone

from tests.trips.rota_page_steps import text, url
from tests.trips.rota_trips import estate
from trips.models import Making, Pairing
from trips.selectors.making import last_making
from trips.services.making_run import making_run

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


@pytest.fixture
def crowded():
    """Seven seats for eight people."""
    return estate(people=8, seats=(2, 2, 2, 1), sessions=1)


def explained(trip):
    making = Making.objects.create(trip=trip, started_at=timezone.now(), search_time="quick")
    return making_run(making_uuid=making.uuid)


def test_too_many_people_are_counted_and_every_remedy_is_a_button(client, crowded):
    client.force_login(crowded.leader)
    making = explained(crowded)
    assert making.state == "impossible"
    page = text(client.get(url("rota-making", crowded)))
    assert "8 people, 7 seats, 1 short" in page
    changes = [remedy["change"] for remedy in making.explanation["remedies"]]
    assert {"rest", "share_seat", "add_seat"} <= set(changes)
    assert page.count("/remedy/") == len(changes)
    assert page.count("What would help") == 1  # the heading above the buttons, not a sentence beside it


@pytest.mark.parametrize("change", ["rest", "share_seat", "add_seat"])
def test_taking_a_remedy_makes_a_rota_possible(client, crowded, change):
    client.force_login(crowded.leader)
    making = explained(crowded)
    number = [remedy["change"] for remedy in making.explanation["remedies"]].index(change)
    answer = client.post(url("remedy-take", crowded, making_uuid=making.uuid, number=number))
    assert answer.status_code == 302
    again = making_run(making_uuid=Making.objects.get(state="waiting").uuid)
    assert again.state == "finished"


@pytest.mark.parametrize("number", [0, 99])
def test_a_remedy_that_is_gone_is_explained_and_changes_nothing(as_leader, trip, number):
    made = Making.objects.create(trip=trip, started_at=timezone.now(), state="impossible", ended_at=timezone.now())
    answer = as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=number), follow=True)
    assert "Things have changed since this was offered" in text(answer)
    assert Making.objects.count() == 1


def refused_repair(trip, **found):
    """A run that ended without a rota, with one remedy: somebody may rest in the first session."""
    session = trip.sessions.first()
    rest = {"change": "rest", "sessions": [str(session.uuid)], "figures": {"people": 1}, "phrase": "Somebody rests."}
    now = timezone.now()
    ended = {"state": "impossible", "started_at": now, "ended_at": now} | found
    return Making.objects.create(trip=trip, search_time="quick", explanation={"remedies": [rest]}, **ended)


def test_a_remedy_is_carried_out_with_its_new_run_or_not_at_all(as_leader, trip):
    made = refused_repair(trip, repair="fewest")  # of a rota that was taken out of force since
    answer = as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=0), follow=True)
    assert "You can only repair an issued rota" in text(answer)
    assert trip.sessions.first().rests_allowed == 0
    assert last_making(trip) == made


def test_two_presses_take_a_remedy_once(as_leader, trip):
    made = refused_repair(trip)
    for _ in range(2):
        answer = as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=0), follow=True)
    assert "Things have changed since this was offered" in text(answer)
    assert trip.sessions.first().rests_allowed == 1
    assert trip.makings.count() == 2


@pytest.mark.parametrize("state", ["finished", "stopped", "failed"])
def test_a_remedy_is_of_a_run_that_found_no_rota(as_leader, trip, state):
    made = refused_repair(trip, state=state)
    as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=0))
    assert trip.sessions.first().rests_allowed == 0


def test_remedies_for_pairs_pins_minimum_and_closed_hides(client):
    trip = estate(people=2, seats=(1, 1), sessions=1, leader_policy="never")
    client.force_login(trip.leader)
    first, second = trip.places.all()
    Pairing.objects.create(trip=trip, first=first, second=second, kind="together")
    making = explained(trip)
    changes = [remedy["change"] for remedy in making.explanation["remedies"]]
    assert "let_sit_apart" in changes
    client.post(url("remedy-take", trip, making_uuid=making.uuid, number=changes.index("let_sit_apart")))
    assert not Pairing.objects.exists()
