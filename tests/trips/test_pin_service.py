"""Turns fixed for later plans: kept by them, noted with who and when, undone, and one to a seat."""

from datetime import timedelta

import pytest

from tests.trips.rota_trips import LONG_BEFORE, estate, planned
from trips.documents.wording.rota_refusals import rota_refusal
from trips.models import Change, Pin, Rota, SessionHide, Trip, Turn
from trips.services.pin import SeatPinned, is_of_pin, pin_undo, turn_pin, turn_unpin
from trips.services.turn import ChangeOverwritten, Edit, change_undo, edit_save

pytestmark = pytest.mark.django_db
LATER = LONG_BEFORE + timedelta(hours=1)


@pytest.fixture
def trip() -> Trip:
    """Four people and six seats."""
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


def first_turn(rota: Rota) -> Turn:
    """The first turn of a participant."""
    return rota.turns.filter(place__isnull=False).select_related("rota__trip", "session__site").first()


def test_a_pinned_turn_is_in_every_later_plan(trip: Trip, rota: Rota) -> None:
    turn = first_turn(rota)
    turn_pin(turn=turn, by=trip.leader, now=LATER)
    assert Pin.objects.get().place == turn.place
    turn.refresh_from_db()
    assert turn.pinned
    for seed in (5, 6):
        later = planned(trip, seed=seed).turns.get(session=turn.session, place=turn.place)
        assert (later.hide_id, later.seat_id, later.pinned) == (turn.hide_id, turn.seat_id, True)
        assert "pinned by the leader" in later.reasons
    turn_unpin(turn=turn, by=trip.leader, now=LATER)
    assert not Pin.objects.exists()


def test_a_pin_is_noted_with_who_and_when_and_undone(trip: Trip, rota: Rota) -> None:
    turn = first_turn(rota)
    turn_pin(turn=turn, by=trip.leader, now=LATER)
    turn_unpin(turn=turn, by=trip.leader, now=LATER)
    turn_unpin(turn=turn, by=trip.leader, now=LATER)  # nothing to take off any more
    pinned, freed = Change.objects.order_by("pk")
    assert (pinned.who, pinned.when) == (trip.leader, LATER)
    name = turn.place.participant.name
    assert pinned.why.startswith(f"pinned: {name} in {turn.hide.name}, {turn.seat.name} (early on 8 May")
    assert freed.why.startswith(f"pin taken off: {name}")
    assert is_of_pin(pinned)
    assert is_of_pin(freed)
    with pytest.raises(ChangeOverwritten):
        pin_undo(change=pinned, by=trip.leader, now=LATER)
    pin_undo(change=freed, by=trip.leader, now=LATER)
    assert (Pin.objects.get().hide, Pin.objects.get().seat) == (turn.hide, turn.seat)
    assert Turn.objects.get(pk=turn.pk).pinned
    with pytest.raises(ChangeOverwritten):
        pin_undo(change=freed, by=trip.leader, now=LATER)


def test_a_move_is_still_undone_after_a_pin(trip: Trip, rota: Rota) -> None:
    session = trip.sessions.first()
    one, other = (rota.turns.filter(session=session).order_by("hide", "seat")[at] for at in (0, 3))
    swap = edit_save(rota=rota, edit=Edit("swap", session, one.place, other=other.place), by=None, now=LATER)
    assert not is_of_pin(swap)
    bystander = rota.turns.filter(session=session).exclude(place__in=[one.place, other.place]).first()
    turn_pin(turn=bystander, by=None, now=LATER)
    assert change_undo(change=swap, by=None, now=LATER).new == swap.old


def test_a_seat_is_pinned_for_one_person_who_is_named(trip: Trip, rota: Rota) -> None:
    turn, second = first_turn(rota), planned(trip)  # the same plan again
    session, other = turn.session, rota.turns.filter(session=turn.session).exclude(hide=turn.hide).first()
    edit_save(rota=second, edit=Edit("swap", session, turn.place, other=other.place), by=None, now=LATER)
    turn_pin(turn=turn, by=None, now=LATER)
    moved = second.turns.get(session=session, place=other.place)
    assert moved.seat == turn.seat
    with pytest.raises(SeatPinned) as refused:
        turn_pin(turn=moved, by=None, now=LATER)
    assert f"{turn.place.participant.name} is pinned to the seat {turn.seat.name}" in rota_refusal(refused.value)
    assert Pin.objects.get().place == turn.place


def test_both_people_of_a_hand_over_are_pinned_to_their_hide(trip: Trip, rota: Rota) -> None:
    session = trip.sessions.first()
    hides = trip.sites.get().hides.all()
    full = next(hide for hide in hides if rota.turns.filter(session=session, hide=hide).count() == 2)
    other = rota.turns.filter(session=session).exclude(hide=full).first()
    SessionHide.objects.create(session=session, hide=full, shares_seat=True)
    edit_save(rota=rota, edit=Edit("move", session, other.place, full), by=None, now=LATER)
    for turn in rota.turns.filter(session=session, hide=full, part__gt=0).select_related("rota__trip"):
        turn_pin(turn=turn, by=None, now=LATER)
    assert [(pin.hide, pin.seat) for pin in Pin.objects.all()] == [(full, None)] * 2
