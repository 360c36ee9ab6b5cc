"""A run of the planner on its page: started, looked at, stopped, and without a worker."""

from datetime import timedelta

import pytest
from django.db.models import F
from django.template.loader import render_to_string
from django.utils import timezone

from tests import factories
from tests.trips.rota_page_steps import text, url
from tests.trips.rota_trips import LONG_BEFORE, estate
from trips.models import Making
from trips.selectors.making import LOOK_EVERY_S, last_making, making_panel
from trips.services.rota import rota_issue

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


def test_rota_make_starts_one_run_for_two_presses(as_leader, trip):
    data = {"search_time": "normal", "seed": "3"}
    assert as_leader.post(url("rota-make", trip), data).status_code == 302
    assert as_leader.post(url("rota-make", trip), data).status_code == 302
    assert Making.objects.count() == 1
    assert Making.objects.get().seed == 3


def test_a_trip_without_people_or_sessions_makes_no_empty_rota(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    factories.place(trip=trip)
    for _ in range(2):
        page = text(client.post(url("rota-make", trip), {"search_time": "normal", "seed": "0"}))
        assert "the trip&#x27;s page says what is needed" in page
        trip.places.all().delete()
        factories.session(trip=trip)
    assert not Making.objects.exists()


def test_a_rota_is_searched_for_normally_and_a_repair_quickly_unless_another_search_time_is_chosen(
    as_leader, trip, rota
):
    assert '<option value="normal" selected' in text(as_leader.get(url("rota-make", trip)))
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    assert '<option value="quick" selected' in text(as_leader.get(url("rota-make", trip)))
    as_leader.post(url("rota-make", trip), {"search_time": "thorough", "seed": "0", "repair": "few"})
    making = trip.makings.latest("pk")
    assert (making.search_time, making.repair) == ("thorough", "few")
    answer = as_leader.post(url("rota-make", trip), {"search_time": "10", "seed": "0"})
    assert "Select a valid choice" in text(answer)


def test_a_thorough_run_says_that_it_goes_on_and_draws_how_the_gap_closes(as_leader, trip):
    now = timezone.now()
    known = {"best": 0.8, "bound": 0.8, "search_time": "thorough", "progress": [[1.5, 0.7, 1.0], [80.0, 0.8, 0.8]]}
    Making.objects.create(trip=trip, state="running", started_at=now, heartbeat_at=now, **known)
    part = text(as_leader.get(url("rota-making", trip), HTTP_HX_REQUEST="true"))
    assert "Nothing better is possible" in part
    assert "You can go on working" in part
    assert "Take it now" in part
    assert "found 0.800, best possible 0.800." in part
    assert "style=" not in part


def test_a_wrong_seed_comes_back_with_a_sentence(as_leader, trip):
    answer = as_leader.post(url("rota-make", trip), {"search_time": "normal", "seed": "-4"})
    assert answer.status_code == 200
    assert "This is from 0 to " in text(answer)
    assert not Making.objects.exists()


def looked(trip, since, seconds):
    """What the panel of an open page says so long after `since`."""
    panel = making_panel(last_making(trip), since + timedelta(seconds=seconds))
    return render_to_string("trips/_making_panel.html", {"panel": panel, "trip": trip})


def test_a_run_that_nobody_takes_up_says_how_to_start_a_worker_within_ten_seconds(trip):
    made = Making.objects.create(trip=trip, started_at=timezone.now())
    assert "No worker has taken it up." not in looked(trip, made.started_at, 4)
    told = looked(trip, made.started_at, 10 - LOOK_EVERY_S)  # the last look of a page within ten seconds
    assert "No worker has taken it up." in told
    assert "db_worker" in told


def test_a_run_whose_worker_was_killed_says_so_within_ten_seconds_and_how_to_start_one(trip):
    begun = timezone.now()
    beat = begun + timedelta(minutes=5)
    Making.objects.create(trip=trip, state="running", started_at=begun, heartbeat_at=beat)
    assert "No sign of life" not in looked(trip, beat, 4)
    told = looked(trip, beat, 10 - LOOK_EVERY_S)
    assert f"No sign of life for {10 - LOOK_EVERY_S} s." in told
    assert "db_worker" in told


def test_an_open_page_looks_as_often_as_is_said(as_leader, trip):
    Making.objects.create(trip=trip, started_at=timezone.now())
    assert f'hx-trigger="every {LOOK_EVERY_S}s"' in text(as_leader.get(url("rota-making", trip)))


def test_a_run_shows_stage_best_and_distance_from_proof(as_leader, trip):
    now = timezone.now()
    Making.objects.create(
        trip=trip, state="running", started_at=now, heartbeat_at=now, stage="worst_share", best=0.8, bound=0.82
    )
    part = text(as_leader.get(url("rota-making", trip), HTTP_HX_REQUEST="true"))
    assert "The lowest fair share as high as possible" in part
    assert "Lowest fair share found: 0.800." in part
    assert "Best possible: 0.820." in part
    assert "Gap: 2.4 %." in part
    assert "btn-danger" not in part  # nothing is lost by taking what is found
    assert "<html" not in part


def test_a_worker_without_a_sign_of_life_is_not_finished_and_never_impossible(as_leader, trip):
    silent = timezone.now() - timedelta(minutes=5)
    Making.objects.create(trip=trip, state="running", started_at=silent, heartbeat_at=silent)
    page = text(as_leader.get(url("rota-making", trip)))
    assert "Not finished" in page
    assert "db_worker" in page
    assert "A rota may still be possible" in page
    assert "No rota keeps" not in page


def test_a_finished_run_leads_htmx_to_its_rota(as_leader, trip, rota):
    answer = as_leader.get(url("rota-making", trip), HTTP_HX_REQUEST="true")
    assert answer["HX-Redirect"] == url("rota-number", trip, number=rota.number)


def test_stop_asks_the_run_to_stop(as_leader, trip):
    now = timezone.now()
    making = Making.objects.create(trip=trip, state="running", started_at=now, heartbeat_at=now)
    as_leader.post(url("rota-stop", trip, making_uuid=making.uuid))
    making.refresh_from_db()
    assert making.cancel


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ("waiting", "The run is stopped; it had not begun, so there is no plan."),
        ("running", "Its best plan so far becomes a draft."),
        ("finished", "The run had ended already."),
    ],
)
def test_stop_claims_no_plan_that_may_not_exist(as_leader, trip, state, said):
    now = timezone.now()
    begun = None if state == "waiting" else now
    making = Making.objects.create(trip=trip, state=state, started_at=now, heartbeat_at=begun)
    assert said in text(as_leader.post(url("rota-stop", trip, making_uuid=making.uuid), follow=True))


def test_the_button_offers_to_keep_a_plan_only_where_there_is_one(as_leader, trip):
    now = timezone.now()
    making = Making.objects.create(trip=trip, state="running", started_at=now, heartbeat_at=now)
    assert "Take it now" not in text(as_leader.get(url("rota-making", trip)))
    Making.objects.filter(pk=making.pk).update(best=0.8, version=F("version") + 1)
    assert "Take it now" in text(as_leader.get(url("rota-making", trip)))
