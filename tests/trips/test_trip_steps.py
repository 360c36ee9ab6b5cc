"""The steps of a trip, from what is needed to printed papers."""

from datetime import timedelta

import pytest
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import issue, seated_rota
from tests.trips.trip_forms import url
from trips.models import PaperPack

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


def states_of(answer):
    """The steps of a trip as the page was given it: title of a step -> its state."""
    return {step.title: step.state for step in answer.context["path"]}


def test_the_way_through_begins_with_what_is_needed(client):
    trip = factories.trip(sites=[])
    client.force_login(trip.leader)
    answer = client.get(url("trip-show", trip))
    states = states_of(answer)
    assert (states["Site and hides"], states["Sessions"], states["People and gear"]) == ("needed",) * 3
    assert (states["Rules"], states["Rota"], states["Issue it"]) == ("done", "later", "later")
    page = answer.content.decode()
    assert url("trip-hides", trip) in page
    assert "Make a rota" not in page


def test_the_way_through_goes_on_to_the_rota_and_its_issue(as_leader, trip):
    trip.sites.update(emergency_number="112")  # one of the facts alone
    answer = as_leader.get(url("trip-show", trip))
    states = states_of(answer)
    assert (states["Site and hides"], states["Rota"], states["Issue it"]) == ("assumed", "next", "later")
    assert "is short of a meeting point, an emergency number, a hospital or" in answer.content.decode()
    rota = factories.rota(trip=trip)
    states = states_of(as_leader.get(url("trip-show", trip)))
    assert (states["Rota"], states["Issue it"]) == ("done", "next")
    issue(rota)
    factories.rota(trip=trip)
    answer = as_leader.get(url("trip-show", trip))
    assert states_of(answer)["Issue it"] == "done"
    assert f"Rota {rota.number} is issued" in answer.content.decode()
    assert f"Rota {rota.number + 1} is a newer draft." in answer.content.decode()


def test_the_way_through_ends_when_all_have_confirmed_and_the_papers_are_printed(as_leader, trip):
    assert states_of(as_leader.get(url("trip-show", trip)))["Papers"] == "later"
    row = issue(seated_rota(trip, moves={(0, 0): (0, 0), (1, 0): (0, 1)}))
    answer = as_leader.get(url("trip-show", trip))
    assert (states_of(answer)["Everybody knows"], states_of(answer)["Papers"]) == ("next", "next")
    assert "3 have not confirmed." in answer.content.decode()
    assert f"Print those of rota {row.rota.number}." in answer.content.decode()
    row.notices.update(confirmed_at=row.issued_at)
    PaperPack.objects.create(trip=trip, rota=row.rota, state="finished", asked_at=row.issued_at, content=b"PK")
    answer = as_leader.get(url("trip-show", trip))
    assert (states_of(answer)["Everybody knows"], states_of(answer)["Papers"]) == ("done", "done")
    assert not [step for step in answer.context["path"] if step.is_now]


def test_one_step_alone_is_the_one_to_go_on_with(client, as_leader, trip):
    for where, title in ((factories.trip(leader=trip.leader, sites=[]), "Site and hides"), (trip, "Rota")):
        answer = as_leader.get(url("trip-show", where))
        assert [step.title for step in answer.context["path"] if step.is_now] == [title]
        assert answer.content.decode().count("btn-primary") == 1
        assert answer.content.decode().count('aria-current="step"') == 1


def test_who_sits_in_the_issued_rota_and_left_the_trip_is_named_until_a_repair_is_issued(as_leader, trip):
    issue(seated_rota(trip, moves={(2, 0): None, (2, 1): None}))
    gone = trip.places.first()
    for state in ("cancelled", "waiting"):
        trip.places.filter(pk=gone.pk).update(state=state)
        answer = as_leader.get(url("trip-show", trip))
        assert states_of(answer)["Issue it"] == "wrong"
        page = answer.content.decode()
        assert f"{gone.participant.name} is no longer on the trip, but rota 1 still seats them" in page
        assert url("rota-make", trip) in page
    issue(seated_rota(trip, moves={(p, s): None for p in (0, 2) for s in (0, 1)}))
    assert states_of(as_leader.get(url("trip-show", trip)))["Issue it"] == "done"


def test_who_came_after_the_rota_was_issued_is_named(as_leader, trip):
    issue(seated_rota(trip))
    says = "neither turn nor rest in it: a repair seats them"
    assert says not in as_leader.get(url("trip-show", trip)).content.decode()
    late = factories.place(trip=trip, participant=factories.participant(leader=trip.leader, name="Late Comer"))
    assert f"Late Comer has {says}" in as_leader.get(url("trip-show", trip)).content.decode()
    last = trip.sessions.last()
    trip.places.filter(pk=late.pk).update(arrives_at=last.ends_at)
    assert says not in as_leader.get(url("trip-show", trip)).content.decode()


def test_sessions_outside_the_days_of_the_trip_do_not_fit(as_leader, trip):
    assert states_of(as_leader.get(url("trip-show", trip)))["Sessions"] == "done"
    trip.starts_on, trip.ends_on = (day + timedelta(days=30) for day in (trip.starts_on, trip.ends_on))
    trip.save()
    answer = as_leader.get(url("trip-show", trip))
    assert states_of(answer)["Sessions"] == "wrong"
    for session in trip.sessions.all():
        assert reverse("trips:session-edit", args=[trip.uuid, session.uuid]) in answer.content.decode()
