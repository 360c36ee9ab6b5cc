"""Loans that are offered where somebody's gear does not reach: from the turn's page and from a refused rota."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from tests import factories
from tests.trips.issued_trips import seated_rota
from tests.trips.rota_page_steps import text, turn_url, url
from trips import models
from trips.services.making_run import making_run

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    """Two people with one lens each; the first has lost theirs, and the second could lend their other one."""
    found = factories.planned_trip(people_count=2, hides=2, sessions=1)
    first, second = found.places.all()
    first.participant.lenses.all().delete()
    factories.lens(participant=second.participant, name="another", spare=True)
    return found


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def loan_link(page):
    """The address of the first loan that a page offers."""
    return re.search(r'href="([^"]*/gear/away/\?[^"]*)"', page).group(1).replace("&amp;", "&")


def is_filled(form, lens, borrower, session):
    asked = f"lens:{lens.uuid}", borrower.pk, session.pk
    return tuple(form.initial[name] for name in ("piece", "borrower", "from_session")) == asked


def test_whoever_has_no_lens_is_offered_a_second_one_that_is_not_marked_as_one_to_lend(as_leader, trip):
    second = trip.places.last()
    second.participant.lenses.update(spare=False)
    page = text(as_leader.get(url("gear-table", trip)))
    lent = page[page.index("What could be lent") :]
    assert f"{second.participant.name} loses nothing. Not marked “can be lent”: ask first." in lent
    assert loan_link(page)
    second.participant.lenses.first().delete()
    assert "ask first" not in text(as_leader.get(url("gear-table", trip)))
    second.participant.lenses.update(spare=True)
    assert "ask first" not in text(as_leader.get(url("gear-table", trip)))


def test_a_turn_without_a_usable_lens_offers_who_loses_least_and_leads_to_the_filled_form(as_leader, trip, clock):
    first, second = trip.places.all()
    turn = seated_rota(trip).turns.get(place=first)
    page = text(as_leader.get(turn_url(turn.rota, turn, "turn-why")))
    assert "What could be lent" in page
    assert f"{second.participant.name} loses nothing." in page
    form = as_leader.get(loan_link(page)).context["form"]
    assert is_filled(form, second.participant.lenses.get(spare=True), first, turn.session)
    theirs = turn.rota.turns.get(place=second)
    assert "What could be lent" not in text(as_leader.get(turn_url(turn.rota, theirs, "turn-why")))
    clock.moment = turn.session.ends_at
    assert "What could be lent" not in text(as_leader.get(turn_url(turn.rota, turn, "turn-why")))


def test_a_rota_that_no_lens_allows_offers_the_loan_that_would_and_is_made_once_it_is_noted(as_leader, trip):
    first, second = trip.places.all()
    asked = {"trip": trip, "started_at": timezone.now(), "search_time": "quick"}
    making = making_run(making_uuid=models.Making.objects.create(**asked).uuid)
    assert making.state == "impossible"
    page = text(as_leader.get(url("rota-making", trip)))
    assert f"{second.participant.name} loses nothing." in page
    where = loan_link(page)
    form = as_leader.get(where).context["form"]
    assert is_filled(form, second.participant.lenses.get(spare=True), first, trip.sessions.get())
    sent = {name: form.initial[name] for name in ("piece", "borrower", "from_session")} | {"what": "lent"}
    assert as_leader.post(where, sent).status_code == 302
    assert making_run(making_uuid=models.Making.objects.create(**asked).uuid).state == "finished"


@pytest.mark.parametrize("value", ["", "x", "\x00", "lens:x", "9" * 400])
def test_a_loan_that_names_nothing_leaves_the_form_open(as_leader, trip, value):
    where = reverse("trips:gear-away-new", args=[trip.uuid])
    answer = as_leader.get(where, {"piece": value, "borrower": value, "from": value})
    assert answer.status_code == 200
    assert answer.context["form"].initial["borrower"] is None
