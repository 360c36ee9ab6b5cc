"""A form counts once, however often it arrives; and a form that lost a race for a name says so at its field."""

import re
import uuid
from collections.abc import Callable
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from django.urls import reverse

from participants.models import HealthNote, LeaderDetails, Submission
from participants.queued import PAGES_KEPT, TWICE
from tests import factories
from tests.trips.form_reading import FormReader
from tests.trips.issued_trips import issued_trip
from tests.trips.my_forms import url as my_url
from trips.models import Pairing, Rota, Subject, Trip
from trips.services.rota import rota_follow

pytestmark = pytest.mark.django_db
NEW = reverse("trips:subject-new")


@pytest.fixture
def trip() -> Trip:
    return factories.planned_trip(people_count=2, hides=1, sessions=1)


def filled(browser, address: str, **typed: str) -> dict[str, str]:
    """The last form of a page as the page fills it, with these fields typed over."""
    return FormReader(browser.get(address).content.decode()).forms[-2].sent | typed


def blind_at_first(look: Callable[..., None]) -> Callable[..., None]:
    """A row's look at what is stored that sees nothing the first time, as if another's row came just after it."""
    looks = iter([lambda row, **given: None])
    return lambda row, **given: next(looks, look)(row, **given)


def test_every_form_of_a_page_names_itself_and_each_drawing_anew(as_leader):
    first, second = (re.findall(r'name="form_uuid" value="([^"]+)"', as_leader.get(NEW).content.decode()) for _ in "ab")
    assert len(first) == len(second) == len(FormReader(as_leader.get(NEW).content.decode()).forms)
    assert len({*first, *second}) == len(first) + len(second)


def test_a_second_press_is_answered_as_the_first_and_makes_no_second_row(as_leader):
    address = reverse("trips:trip-new")
    sent = filled(as_leader, address, name="Lagoon", starts_on="2027-05-08", ends_on="2027-05-12")
    first, second = (as_leader.post(address, sent) for _ in range(2))
    assert (first.status_code, first.url) == (second.status_code, second.url) == (302, first.url)
    assert TWICE in as_leader.get(second.url).content.decode()
    assert Trip.objects.filter(name="Lagoon").count() == 1


def test_a_page_gone_back_to_and_filled_otherwise_makes_another_row(as_leader):
    sent = filled(as_leader, NEW, name="Heron", length_min_cm="90", length_max_cm="98")
    as_leader.post(NEW, sent)
    as_leader.post(NEW, sent | {"name": "Egret"})
    assert sorted(Subject.objects.filter(name__in=("Heron", "Egret")).values_list("name", flat=True)) == [
        "Egret",
        "Heron",
    ]


def test_a_form_that_was_refused_may_come_again(as_leader, trip, hide):
    sent = filled(as_leader, NEW, name=hide.hide_subjects.get().subject.name, length_min_cm="9", length_max_cm="9")
    assert as_leader.post(NEW, sent).status_code == 200
    Subject.objects.update(name="another")
    assert as_leader.post(NEW, sent).status_code == 302


def test_a_form_of_a_page_is_forgotten_after_a_day(as_leader):
    as_leader.post(NEW, filled(as_leader, NEW, name="Heron", length_min_cm="90", length_max_cm="98"))
    old = Submission.objects.get()
    assert (old.participant, old.answer) == (None, {"next": reverse("trips:subject-list")})
    Submission.objects.update(taken_at=old.taken_at - PAGES_KEPT - timedelta(minutes=1))
    as_leader.post(NEW, filled(as_leader, NEW, name="Egret", length_min_cm="60", length_max_cm="65"))
    assert Submission.objects.get() != old


@pytest.mark.parametrize("more", [{}, {"form_uuid": ""}], ids=["named", "without a name"])
def test_a_form_that_lost_a_race_for_a_name_says_so_at_its_field(as_leader, trip, monkeypatch, more):
    sent = filled(as_leader, NEW, name="Heron", length_min_cm="90", length_max_cm="98") | more
    factories.subject(leader=trip.leader, name="Heron")
    monkeypatch.setattr(Subject, "validate_constraints", blind_at_first(Subject.validate_constraints))
    page = as_leader.post(NEW, sent)
    assert page.status_code == 200
    assert "already have a subject of that name" in page.content.decode()


def test_a_pairing_that_the_services_last_look_refuses_says_so(as_leader, trip, monkeypatch):
    first, second = trip.places.all()
    Pairing.objects.create(trip=trip, first=second, second=first, kind="apart")
    monkeypatch.setattr(Pairing, "validate_constraints", blind_at_first(Pairing.validate_constraints))
    sent = {"first": first.pk, "second": second.pk, "kind": "half"}
    page = as_leader.post(reverse("trips:pairing-list", args=[trip.uuid]), sent).content.decode()
    assert "already have a pairing" in page


def test_a_first_health_note_is_never_written_over_by_another_first_one(phone, place):
    address = my_url("my-health", place)
    second = filled(phone, address, text="Nothing")
    phone.post(address, filled(phone, address, text="Asthma"))
    assert "changed since you opened it" in phone.post(address, second).content.decode()
    assert HealthNote.objects.get().text == "Asthma"


def test_a_first_telephone_is_never_written_over_by_another_first_one(as_leader):
    LeaderDetails.objects.all().delete()
    address = reverse("trips:leader-edit")
    first, second = (filled(as_leader, address, phone=phone) for phone in ("+34 600 000 001", "+34 600 000 002"))
    as_leader.post(address, first)
    assert "changed since you opened it" in as_leader.post(address, second).content.decode()
    assert LeaderDetails.objects.get().phone == "+34 600 000 001"


def test_a_draft_that_follows_the_issued_rota_is_begun_once_until_it_is_changed():
    trip = issued_trip(people=2, hides=1, sessions=2)
    issued, now = trip.rotas.get(), factories.FIRST_START - timedelta(days=9)
    first = rota_follow(rota=issued, by=trip.leader, now=now)
    assert rota_follow(rota=issued, by=trip.leader, now=now + timedelta(minutes=1)) == first
    Rota.objects.filter(pk=first.pk).update(version=2)
    assert rota_follow(rota=issued, by=trip.leader, now=now) != first


def test_a_strangers_press_of_the_same_form_is_not_answered_for_them(as_leader, client, trip):
    address = reverse("trips:person-new", args=[trip.uuid])
    sent = filled(as_leader, address, name="Ana", language="en", units="metric", state="invited")
    as_leader.post(address, sent)
    client.force_login(factories.leader())
    assert client.post(address, sent).status_code == 404
    assert uuid.UUID(sent["form_uuid"])


def test_pairings_of_the_same_two_become_one_and_apart_stays(trip):
    first, second = trip.places.all()
    with connection.cursor() as cursor:
        cursor.execute("DROP INDEX pairing_once")
    for one, other, kind in ((first, second, "apart"), (second, first, "half"), (first, second, "together")):
        Pairing.objects.create(trip=trip, first=one, second=other, kind=kind)
    third = factories.place(trip=trip)
    Pairing.objects.create(trip=trip, first=third, second=first, kind="half")
    import_module("trips.migrations.0015_pairing_once_either_way").merge_doubles(apps, None)
    assert sorted(Pairing.objects.values_list("kind", flat=True)) == ["apart", "half"]
