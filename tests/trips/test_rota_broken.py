"""What an issued rota breaks once its inputs changed: a red card with one way to repair it; a draft's moved seats."""

import pytest
from django.urls import reverse

from tests.trips.issued_trips import issue
from tests.trips.rota_page_steps import a_turn, free_seat, text, url
from tests.trips.rota_trips import estate
from trips.models import Making, SessionHide
from trips.services.rota import rota_follow

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
PAGES = ("trip-show", "rota-show", "board-show")


@pytest.fixture
def trip():
    return estate(people=3, seats=(2, 2), sessions=2, leader_policy="never")


def test_a_closure_after_the_issue_is_a_red_card_with_one_repair_button(as_leader, trip, rota, monkeypatch):
    issue(rota)
    card = url("rota-broken", trip, number=rota.number)
    assert not any(card in text(as_leader.get(url(name, trip))) for name in PAGES)
    turn = a_turn(rota)
    SessionHide.objects.create(session=turn.session, hide=turn.hide, state="unavailable", reason="let")
    assert all(f'hx-get="{card}"' in text(as_leader.get(url(name, trip))) for name in PAGES)
    for headers in ({}, {"HX-Request": "true"}):
        page = text(as_leader.get(card, headers=headers))
        assert f"{turn.hide.name} is not available" in page
        assert turn.place.participant.name in page
        assert page.count(">Repair</button>") == 1
    repair = reverse("trips:board-repair", args=[trip.uuid])
    assert f'action="{repair}"' in page
    as_leader.post(repair, {"kind": "fewest"})
    assert Making.objects.filter(trip=trip, repair="fewest").exists()


def test_a_change_that_breaks_nothing_shows_no_card(as_leader, trip, rota):
    issue(rota)
    trip.sites.get().hides.first().save()
    card = url("rota-broken", trip, number=rota.number)
    assert "Repair" not in text(as_leader.get(card, headers={"HX-Request": "true"}))
    assert "keeps all rules" in text(as_leader.get(card))


def test_a_draft_after_an_issue_marks_the_seats_that_changed(as_leader, trip, rota):
    issue(rota)
    draft = rota_follow(rota=rota, by=trip.leader, now=rota.made_at)
    where = url("rota-number", trip, number=draft.number)
    assert "is-moved" not in text(as_leader.get(where)).split("glance-legend")[0]
    turn = a_turn(draft)
    seat = free_seat(draft, turn)
    was = f"{turn.hide.name}, {turn.seat.name}"
    draft.turns.filter(pk=turn.pk).update(hide=seat.hide, seat=seat)
    page = text(as_leader.get(where)).split("glance-legend")
    assert page[0].count("is-moved") == 1
    assert f'title="was: {was}"' in page[0]
    assert "Who moves and why" in page[1]
