"""The hides that a person could have had in a session: worth, who moves, what the group loses."""

import re

import pytest

from tests.trips.rota_page_steps import a_turn, text, turn_url
from tests.trips.rota_trips import estate
from trips.models import Hide, SessionHide
from trips.selectors.turn_options import turn_options

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 1), sessions=2, leader_policy="never")


def test_every_hide_that_a_person_could_have_had_stands_beside_theirs(as_leader, trip, rota):
    turn = a_turn(rota)
    options = turn_options(rota, turn.session, turn.place)
    assert {one.hide for one in options} == {"Alder", "Birch", "Cedar"}
    points = [one.factors.points for one in options]
    assert points == sorted(points, reverse=True)
    own = next(one for one in options if one.is_now)
    assert own.hide == turn.hide.name
    assert own.factors.points == pytest.approx(turn.points, abs=0.1)
    taken = {hide: set() for hide in ("Alder", "Birch", "Cedar")}
    for other in rota.turns.filter(session=turn.session).select_related("hide", "place__participant"):
        taken[other.hide.name].add(other.place.participant.name)
    for one in options:
        if not one.is_now and not one.against:
            has_room = len(taken[one.hide]) < Hide.objects.get(name=one.hide).seats.count()
            assert one.asks.startswith("hide=" if has_room else "person=")
            assert has_room == (one.moves == "nobody")
            assert "lowest share" in one.loses
    page = text(as_leader.get(turn_url(rota, turn, "turn-why")))
    assert len(re.findall(r">What\s+if<", page)) == sum(1 for one in options if one.asks and not one.against)
    assert all(
        text(as_leader.get(f"{turn_url(rota, turn)}?{one.asks}")).count("What this would do")
        for one in options
        if one.asks
    )


def test_a_hide_that_is_closed_then_is_no_choice_and_a_stranger_has_none(trip, rota):
    turn = a_turn(rota)
    other = Hide.objects.exclude(pk=turn.hide.pk).first()
    SessionHide.objects.create(session=turn.session, hide=other, state="unavailable", reason="let")
    assert other.name not in {one.hide for one in turn_options(rota, turn.session, turn.place)}
    turn.place.pk = -1
    assert turn_options(rota, turn.session, turn.place) == ()
