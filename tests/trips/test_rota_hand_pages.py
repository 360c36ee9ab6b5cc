"""Turns moved by hand: shown before they are confirmed, refused, undone, pinned, explained."""

import pytest
from django.db.models import F

from tests.trips.rota_page_steps import a_turn, free_seat, text, turn_url, url
from tests.trips.rota_trips import estate, planned
from trips.models import Change, Pin, Rota, SessionHide

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


def test_a_move_shows_its_effect_before_it_is_confirmed(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    data = {"kind": "move", "seat": seat.pk, "why": "likes \u202eit there", "seen_version": rota.version}
    page = text(as_leader.post(turn_url(rota, turn), data | {"step": "show"}))
    assert "What this would do" in page
    assert f"{turn.place.participant.name} sits in {seat.hide.name}, {seat.name}" in page
    assert not Change.objects.exists()
    answer = as_leader.post(turn_url(rota, turn), data | {"step": "save"})
    assert answer.status_code == 302
    change = Change.objects.get()
    assert (change.who, change.why) == (trip.leader, "likes it there")
    assert rota.turns.get(session=turn.session, place=turn.place).seat == seat


def test_a_move_that_breaks_a_rule_names_it_and_is_not_saved(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    SessionHide.objects.create(session=turn.session, hide=seat.hide, state="unavailable", reason="let")
    data = {"kind": "move", "seat": seat.pk, "step": "show"}
    page = text(as_leader.post(turn_url(rota, turn), data))
    assert "not possible" in page
    assert seat.hide.name in page
    answer = as_leader.post(turn_url(rota, turn), data | {"step": "save", "seen_version": rota.version})
    assert answer.status_code == 200
    assert "The rules stand against it." in text(answer)
    assert not Change.objects.exists()


def test_dropping_a_name_leads_to_the_same_form(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    page = text(as_leader.get(turn_url(rota, turn), {"hide": str(seat.hide.uuid)}))
    assert "What this would do" in page
    page = text(as_leader.get(turn_url(rota, turn), {"seat": str(seat.uuid)}))
    assert f"{turn.place.participant.name} sits in {seat.hide.name}, {seat.name}" in page
    other = rota.turns.filter(session=turn.session).exclude(place=turn.place).exclude(hide=turn.hide).first()
    page = text(as_leader.get(turn_url(rota, turn), {"person": str(other.place.uuid)}))
    assert f"{other.place.participant.name} sits in {turn.hide.name}" in page


@pytest.mark.parametrize("asked", [{"hide": "nonsense"}, {"person": "nonsense"}, {"hide": ""}, {"seat": "x"}])
def test_a_drop_on_nothing_is_explained(as_leader, trip, rota, asked):
    answer = as_leader.get(turn_url(rota, a_turn(rota)), asked)
    assert answer.status_code == 200
    assert "error-summary" in text(answer)


def test_a_stale_change_is_told_so(as_leader, trip, rota):
    turn = a_turn(rota)
    data = {"kind": "move", "seat": free_seat(rota, turn).pk, "step": "save", "seen_version": rota.version}
    as_leader.post(turn_url(rota, turn), data)
    back = data | {"seat": turn.seat.pk}
    assert "changed since you opened it" in text(as_leader.post(turn_url(rota, turn), back))


def test_a_change_is_undone(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    data = {"kind": "move", "seat": seat.pk, "step": "save", "seen_version": rota.version}
    as_leader.post(turn_url(rota, turn), data)
    change = Change.objects.get()
    assert "Undo this change" in text(as_leader.get(url("rota-number", trip, number=rota.number)))
    as_leader.post(url("turn-undo", trip, number=rota.number, change_uuid=change.uuid))
    assert rota.turns.get(session=turn.session, place=turn.place).seat == turn.seat


def test_two_changes_are_undone_one_after_the_other(as_leader, trip, rota):
    before = set(rota.turns.values_list("session", "place", "seat"))
    for turn in rota.turns.filter(session=trip.sessions.first(), place__isnull=False)[:2]:
        rota.refresh_from_db()
        data = {"kind": "rest", "step": "save", "seen_version": rota.version}
        type(turn.session).objects.update(rests_allowed=2, version=F("version") + 1)
        assert as_leader.post(turn_url(rota, turn), data).status_code == 302
    for change in rota.changes.order_by("-when", "-pk"):
        page = text(as_leader.get(url("rota-number", trip, number=rota.number)))
        assert page.count("Undo this change") == 1
        undo = url("turn-undo", trip, number=rota.number, change_uuid=change.uuid)
        assert f'action="{undo}"' in page
        as_leader.post(undo)
    assert set(rota.turns.values_list("session", "place", "seat")) == before
    assert "Undo this change" not in text(as_leader.get(url("rota-number", trip, number=rota.number)))


def test_a_turn_is_pinned_and_let_go(as_leader, trip, rota):
    turn = a_turn(rota)
    why = turn_url(rota, turn, "turn-why")
    assert "Pin it for all later plans" in text(as_leader.get(why))
    as_leader.post(turn_url(rota, turn, "turn-pin"))
    assert Pin.objects.get().hide == turn.hide
    assert "Take the pin off" in text(as_leader.get(why))
    as_leader.post(turn_url(rota, turn, "turn-pin"), {"pin": "off"})
    assert not Pin.objects.exists()


def test_why_here_tells_light_reach_wish_and_points(as_leader, trip, rota):
    page = text(as_leader.get(turn_url(rota, a_turn(rota), "turn-why")))
    assert "drawing-small" in page
    for part in ("Light:", "Reach:", "Wish:", "points of 100"):
        assert part in page


@pytest.mark.parametrize(
    ("policy", "why"),
    [("spare_seats", "takes a seat that is left"), ("coaching", "sits beside people in turn"), ("never", "no seat")],
)
def test_why_here_tells_of_the_leader_by_the_trips_rule(as_leader, trip, policy, why):
    type(trip.rules).objects.filter(trip=trip).update(leader_policy="spare_seats", version=F("version") + 1)
    rota = planned(trip)
    turn = rota.turns.filter(place__isnull=True).select_related("session", "hide").first()
    type(trip.rules).objects.filter(trip=trip).update(leader_policy=policy, version=F("version") + 1)
    where = url("turn-why", trip, number=rota.number, session_uuid=turn.session.uuid, who="leader")
    page = text(as_leader.get(where))
    assert why in page
    assert turn.hide.name in page
    Rota.objects.filter(pk=rota.pk).update(state="issued", version=F("version") + 1)
    assert f'href="{where}"' in text(as_leader.get(url("rota-number", trip, number=rota.number)))


def test_a_turn_offers_to_begin_a_stay_or_to_end_it_but_not_both(as_leader, rota):
    turn = a_turn(rota)
    page = text(as_leader.get(turn_url(rota, turn)))
    assert ("Stay in the hide" in page, "No longer stay" in page) == (True, False)
    rota.turns.filter(pk=turn.pk).update(stays=True, version=F("version") + 1)
    page = text(as_leader.get(turn_url(rota, turn)))
    assert ("Stay in the hide" in page, "No longer stay" in page) == (False, True)


def test_a_turn_of_nobody_is_a_404(as_leader, trip, rota):
    turn = a_turn(rota)
    kwargs = {"number": rota.number, "session_uuid": turn.session.uuid, "who": "not-a-uuid"}
    assert as_leader.get(url("turn-edit", trip, **kwargs)).status_code == 404
    assert as_leader.get(url("rota-number", trip, number=99)).status_code == 404
