"""The page of papers, as the leader, a participant and a stranger meet it."""

import io
import zipfile
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from tests.trips.paper_reading import one_line
from trips.services.paper_pack import paper_pack_print

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return issued_trip(people=1, hides=1, sessions=1)


@pytest.fixture
def leader(trip):
    client = Client()
    client.force_login(trip.leader)
    return client


def address(trip, name: str = "papers", *more) -> str:
    return reverse(f"trips:{name}", args=[trip.uuid, *more])


def test_the_leader_orders_prints_and_fetches_a_zip(trip, leader):
    page = leader.get(address(trip))
    assert "Print all papers" in page.content.decode()
    assert "as you issued it" in page.content.decode()
    answer = leader.post(address(trip, "papers-print"), {"page_size": "Letter"})
    assert answer.status_code == 302
    leader.post(address(trip, "papers-print"), {"page_size": "A4"})  # a second press
    pack = trip.paper_packs.get()
    assert (pack.page_size, pack.state) == ("Letter", "waiting")
    task = DBTaskResult.objects.get()
    assert task.task_path.endswith("paper_pack_print")
    waiting = leader.get(address(trip)).content.decode()
    assert "waiting for a worker" in waiting
    assert 'hx-trigger="every 2s"' in waiting
    paper_pack_print(pack_uuid=pack.uuid)
    page = leader.get(address(trip)).content.decode()
    assert "finished" in page
    assert 'hx-trigger="every 2s"' not in page
    assert address(trip, "papers-pack", pack.uuid) in page
    fetched = leader.get(address(trip, "papers-pack", pack.uuid))
    assert fetched["Content-Type"] == "application/zip"
    assert "no-store" in fetched["Cache-Control"]
    assert fetched["Content-Disposition"].startswith('attachment; filename="papers-trip-')
    assert zipfile.ZipFile(io.BytesIO(fetched.content)).testzip() is None


def test_a_pack_that_nobody_takes_up_or_that_broke_off_says_what_to_do(clock, trip, leader):
    leader.post(address(trip, "papers-print"), {"page_size": "A4"})
    assert "No worker has taken it up" not in leader.get(address(trip)).content.decode()
    clock.moment += timedelta(seconds=10)
    waiting = leader.get(address(trip)).content.decode()
    assert "No worker has taken it up for 10 s." in waiting
    assert "python manage.py db_worker" in waiting
    trip.paper_packs.update(state="not_finished")
    assert "then print again" in leader.get(address(trip)).content.decode()


def test_htmx_gets_the_part_and_others_the_page(trip, leader):
    part = leader.get(address(trip, "papers-made"), headers={"HX-Request": "true"}).content.decode()
    assert part.strip().startswith('<div id="pack"')
    assert "<html" not in part
    assert leader.get(address(trip, "papers-made")).headers["Location"] == address(trip)


def test_a_pack_under_way_and_a_failed_one_are_told(trip, leader):
    factory = {"trip": trip, "rota": trip.rotas.get(), "asked_at": trip.rotas.get().made_at}
    pack = trip.paper_packs.create(**factory, state="failed", fault="No font here prints Toto.")
    assert "No font here prints Toto." in leader.get(address(trip)).content.decode()
    assert leader.get(address(trip, "papers-pack", pack.uuid)).status_code == 404


def test_a_trip_without_a_rota_leads_to_the_rota_and_prints_its_forms(leader, trip):
    empty = factories.trip(leader=trip.leader)
    page = leader.get(address(empty)).content.decode()
    assert "No rota yet" in page
    assert "Print the forms and cards" in page
    leader.post(address(empty, "papers-print"), {"page_size": "A4"})
    pack = paper_pack_print(pack_uuid=empty.paper_packs.get().uuid)
    assert "Forms and cards: <strong>finished" in leader.get(address(empty)).content.decode()
    fetched = leader.get(address(empty, "papers-pack", pack.uuid))
    assert "rota" not in fetched["Content-Disposition"]
    names = zipfile.ZipFile(io.BytesIO(fetched.content)).namelist()
    assert names == ["papers/gear-table.pdf", "papers/registration-form.pdf", "papers/take-care.pdf"]


def test_a_draft_is_announced_as_one(leader, trip):
    other = factories.planned_trip(people_count=1, hides=1, sessions=1)
    other.co_leaders.add(trip.leader)
    seated_rota(other)
    assert "every paper says DRAFT" in leader.get(address(other)).content.decode()


def test_papers_printed_before_an_issue_are_not_those_of_the_rota_in_force(trip, leader):
    other = factories.planned_trip(people_count=1, hides=1, sessions=1)
    other.co_leaders.add(trip.leader)
    rota = seated_rota(other)
    other.paper_packs.create(rota=rota, state="finished", asked_at=timezone.now())
    again, printed = "from before the rota was issued. Print them again.", "The papers of rota 1 are printed."
    trip_page = reverse("trips:trip-show", args=[other.uuid])
    assert again not in leader.get(address(other)).content.decode()
    issue(rota)
    assert again in one_line(leader.get(address(other)).content.decode())
    assert printed not in leader.get(trip_page).content.decode()
    other.paper_packs.create(rota=rota, state="finished", asked_at=timezone.now())
    assert again not in leader.get(address(other)).content.decode()
    assert printed in leader.get(trip_page).content.decode()


def test_people_are_warned_that_calendars_lag(trip, leader):
    assert "do not rely on them for changes on the day" in leader.get(address(trip)).content.decode()


def test_the_page_asks_as_often_however_many_people_and_packs(leader, trip, django_assert_num_queries):
    leader.get(address(trip))
    with django_assert_num_queries(12):
        leader.get(address(trip))
    for _ in range(4):
        factories.place(trip=trip)
        trip.paper_packs.create(rota=trip.rotas.get(), state="finished", asked_at=trip.rotas.get().made_at)
    with django_assert_num_queries(12):
        leader.get(address(trip))


def test_another_leaders_pack_is_not_there(trip, leader):
    other = issued_trip(people=1, hides=1, sessions=1)
    pack = other.paper_packs.create(
        rota=other.rotas.get(), state="finished", asked_at=other.rotas.get().made_at, content=b"PK"
    )
    assert leader.get(address(trip, "papers-pack", pack.uuid)).status_code == 404
    assert leader.get(address(other, "papers-pack", pack.uuid)).status_code == 404


def test_a_participant_sees_no_page_of_papers(trip):
    phone = phone_of(trip.places.get().participant)
    assert phone.get(address(trip)).headers["Location"].startswith("/sign-in/")


def test_an_address_of_another_trip_is_not_replaced(trip, leader):
    other = factories.trip()
    answer = leader.post(address(trip, "papers-address"), {"kind": "feed_trip", "owner_uuid": other.uuid}, follow=True)
    assert "That is no calendar of this trip." in answer.content.decode()


def test_issuing_again_makes_papers_of_the_new_rota(trip, leader):
    issue(seated_rota(trip))
    leader.post(address(trip, "papers-print"), {"page_size": "A4"})
    assert trip.paper_packs.get().rota.number == 2
