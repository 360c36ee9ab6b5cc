"""Pages of one turn: the leader's own seat, pins where there is a turn, and what is still to mend."""

import pytest
from django.urls import reverse

from tests.trips.rota_trips import LONG_BEFORE, estate, planned
from trips.models import Change, Pairing, Pin, Rota, SessionHide, Trip, Turn
from trips.services.rota import rota_issue

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip() -> Trip:
    """Three people in two hides of two seats, so that one seat is left for the leader."""
    return estate(people=3, seats=(2, 2), sessions=1, leader_policy="coaching")


def turn_url(rota: Rota, who: str, name: str = "turn-edit") -> str:
    """The page of somebody's turn in the only session."""
    return reverse(f"trips:{name}", args=[rota.trip.uuid, rota.number, rota.trip.sessions.get().uuid, who])


def text(answer) -> str:
    return answer.content.decode()


def test_the_leader_gives_up_the_seat_and_takes_it_again(as_leader, trip: Trip, rota: Rota) -> None:
    own = rota.turns.select_related("hide", "seat").get(place=None)
    page, where = turn_url(rota, "leader"), f"{own.hide.name}, {own.seat.name}"
    assert "The leader takes no seat (" in text(as_leader.post(page, {"kind": "rest", "step": "show"}))
    as_leader.post(page, {"kind": "rest", "step": "save", "seen_version": rota.version})
    assert not rota.turns.filter(place=None).exists()
    back = {"kind": "move", "seat": own.seat.pk}
    assert f"The leader sits in {where} (" in text(as_leader.post(page, back | {"step": "show"}))
    rota.refresh_from_db()
    as_leader.post(page, back | {"step": "save", "seen_version": rota.version})
    assert rota.turns.get(place=None).seat == own.seat


def test_the_leader_who_asks_for_a_taken_seat_is_told_why_not(as_leader, trip: Trip, rota: Rota) -> None:
    own = rota.turns.get(place=None)
    taken = rota.turns.exclude(place=None).exclude(hide=own.hide).first()
    data = {"kind": "move", "seat": taken.seat.pk}
    page = text(as_leader.post(turn_url(rota, "leader"), data | {"step": "show"}))
    assert "not possible" in page
    assert "have the same seat" in page
    assert "gives up" not in page
    answer = as_leader.post(turn_url(rota, "leader"), data | {"step": "save", "seen_version": rota.version})
    assert "The rules stand against it." in text(answer)
    assert rota.turns.get(place=None).seat == own.seat
    assert not Change.objects.exists()


def test_a_rest_offers_no_pin(as_leader, trip: Trip, rota: Rota) -> None:
    turn = rota.turns.exclude(place=None).select_related("place", "session").first()
    why = turn_url(rota, str(turn.place.uuid), "turn-why")
    assert "Pin it for all later plans" in text(as_leader.get(why))
    rota.turns.filter(place=turn.place).delete()
    assert "Pin it" not in text(as_leader.get(why))
    rota.rests.create(session=turn.session, place=turn.place)
    assert "Pin it" not in text(as_leader.get(why))


def test_a_pin_stands_among_the_changes_and_is_undone_there(as_leader, trip: Trip, rota: Rota) -> None:
    turn = rota.turns.exclude(place=None).select_related("place__participant", "hide", "seat").first()
    as_leader.post(turn_url(rota, str(turn.place.uuid), "turn-pin"))
    page = reverse("trips:rota-number", args=[trip.uuid, rota.number])
    assert f"pinned: {turn.place.participant.name} in {turn.hide.name}, {turn.seat.name}" in text(as_leader.get(page))
    assert Change.objects.get().who == trip.leader
    undo = reverse("trips:turn-undo", args=[trip.uuid, rota.number, Change.objects.get().uuid])
    assert "Undone." in text(as_leader.post(undo, follow=True))
    assert not Pin.objects.exists()
    assert not Turn.objects.get(pk=turn.pk).pinned


def test_a_seat_that_is_pinned_already_names_for_whom(as_leader, trip: Trip, rota: Rota) -> None:
    one, other = rota.turns.exclude(place=None).select_related("place__participant")[:2]
    Pin.objects.create(trip=trip, session=one.session, place=other.place, hide=one.hide, seat=one.seat)
    answer = as_leader.post(turn_url(rota, str(one.place.uuid), "turn-pin"), follow=True)
    assert f"{other.place.participant.name} is pinned to the seat {one.seat.name}" in text(answer)
    assert Pin.objects.count() == 1


def test_a_draft_of_a_rota_whose_hide_was_closed_says_what_is_still_to_mend(client) -> None:
    trip = estate(people=2, seats=(2, 2), sessions=1, leader_policy="never")
    client.force_login(trip.leader)
    one, other = trip.places.all()
    Pairing.objects.create(trip=trip, first=one, second=other, kind="together")
    rota = planned(trip)
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    first = rota.turns.select_related("place", "hide", "session").first()
    SessionHide.objects.create(session=first.session, hide=first.hide, state="unavailable", reason="hunting")
    change = reverse("trips:rota-change", args=[trip.uuid, rota.number])
    page = text(client.post(change, follow=True))
    assert '<span class="sign sign-fault">breaks rules</span>' in page
    assert "This draft breaks rules" in page
    assert f"{first.hide.name} is not available" in page
    draft = Rota.objects.get(state="draft")
    free = trip.sites.get().hides.exclude(pk=first.hide.pk).get().seats.first()
    data = {"kind": "move", "seat": free.pk, "step": "show"}
    page = text(client.post(turn_url(draft, str(first.place.uuid)), data))
    assert "Fix this before you issue the rota" in page
    assert "Do it" in page
    page = text(client.get(reverse("trips:rota-number", args=[trip.uuid, rota.number])))
    assert "breaks rules" not in page
