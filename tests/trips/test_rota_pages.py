"""The rota's page: seats, light, counts, and what it was made from; as the leader and a stranger."""

import re

import pytest
from django.db.models import F
from django.utils import timezone

from tests import factories
from tests.trips.issued_trips import issue
from tests.trips.rota_page_steps import a_turn, text, url
from tests.trips.rota_trips import estate, planned
from trips.documents.rota_page import worth_step
from trips.models import Absence, Pairing, Rota, SessionHide
from trips.selectors.rota_glance import Asked
from trips.selectors.rota_page import rota_page
from trips.services.person import pairing_remove

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


def test_rota_show_without_a_rota_says_the_next_step(as_leader, trip):
    page = text(as_leader.get(url("rota-show", trip)))
    assert "No rota yet" in page
    assert url("rota-make", trip) in page


@pytest.mark.parametrize("asked", ["nonsense", "9999-12-31", "\x00", "00000000-0000-4000-8000-000000000000"])
def test_rota_show_opens_at_its_own_session_where_none_such_is_asked_for(as_leader, rota, asked):
    first, last = (str(session.uuid) for session in rota.trip.sessions.all())
    where = url("rota-show", rota.trip)
    answer = as_leader.get(where, {"session": asked, "follow": asked, "rows": asked})
    page = answer.context["page"]
    assert [column.session for column in page.columns if column.is_shown] == [first]
    assert page.followed is None
    page = as_leader.get(where, {"session": last}).context["page"]
    assert [getattr(column, "session", None) for column in page.near] == [first, last, None]


@pytest.mark.parametrize("rows", ["people", "hides"])
def test_rota_show_has_people_in_named_seats_with_their_worth_counts_and_the_guarantee(as_leader, trip, rota, rows):
    page = text(as_leader.get(url("rota-show", trip), {"rows": rows}))
    turns = rota.turns.filter(place__isnull=False).select_related("place__participant", "hide", "seat")
    assert all(name in page for turn in turns for name in (turn.place.participant.name, turn.hide.name, turn.seat.name))
    assert page.count('role="img" aria-label="worth ') == turns.count()
    assert f'aria-label="worth {worth_step(turns[0].points)} of 5"' in page
    assert "glance-promise" in page
    assert "All counts" in page
    assert ("Turns in sought-after hides" in page) == (rows == "people")


def test_a_person_who_is_followed_is_marked_with_those_who_sit_with_them(as_leader, trip, rota):
    turn = a_turn(rota)
    page = as_leader.get(url("rota-show", trip), {"follow": str(turn.place.uuid)}).context["page"]
    assert page.followed.place == str(turn.place.uuid)
    beside = {
        (one.place_id, one.session_id)
        for own in rota.turns.filter(place=turn.place)
        for one in rota.turns.filter(session=own.session, hide=own.hide).exclude(pk=own.pk)
    }
    cells = [cell.seated for row in page.people for cell in row.cells if cell.seated]
    assert {(one.turn.place_id, one.turn.session_id) for one in cells if one.company} == beside


def test_a_person_without_a_turn_rests_is_away_or_has_no_seat_yet(as_leader, trip, rota):
    first = trip.sessions.first()
    one, other, third = trip.places.all()[:3]
    rota.turns.filter(session=first).delete()
    rota.rests.create(session=first, place=one, reason="asked for")
    Absence.objects.create(place=other, session=first, reason="late flight")
    page = as_leader.get(url("rota-number", trip, number=rota.number)).context["page"]
    found = {row.place: (row.cells[0].instead, row.cells[0].reason) for row in page.people}
    assert [found[str(place.uuid)] for place in (one, other, third)] == [
        ("rests", "asked for"),
        ("away", "late flight"),
        ("", ""),
    ]
    assert all(row.cells[1].seated for row in page.people)


def test_a_name_may_be_dropped_on_every_free_seat_and_hide_that_takes_people(as_leader, trip, rota):
    first, _ = trip.sessions.all()
    shut, asked = trip.sites.get().hides.all()[:2]
    SessionHide.objects.create(session=first, hide=shut, state="unavailable", reason="let")
    SessionHide.objects.create(session=first, hide=asked, state="notice", notice_h=2)
    where = url("rota-number", trip, number=rota.number)
    page = text(as_leader.get(where, {"rows": "hides"}))
    hides = set(re.findall(rf'data-drop-hide="([^"]+)" data-drop-session="{first.uuid}"', page))
    assert hides == {str(hide.uuid) for hide in trip.sites.get().hides.exclude(pk=shut.pk)}
    taken = set(rota.turns.values_list("session", "seat"))
    seats = [seat for hide in trip.sites.get().hides.all() for seat in hide.seats.all()]
    free = [
        str(seat.uuid)
        for session in trip.sessions.all()
        for seat in seats
        if (session.pk, seat.pk) not in taken and not (session == first and seat.hide == shut)
    ]
    assert sorted(re.findall('data-drop-seat="([^"]+)"', page)) == sorted(free)
    Rota.objects.filter(pk=rota.pk).update(state="issued", version=F("version") + 1)
    assert "data-drop" not in text(as_leader.get(where, {"rows": "hides"}))


def test_whom_each_has_sat_with_is_told_by_person_not_by_name(trip, rota):
    one, other = (place.participant for place in trip.places.all()[:2])
    other.name = one.name
    other.save()
    shown = {line.place: line.company for line in rota_page(rota, Asked(timezone.now())).lines}
    for place in trip.places.all():
        met = set()
        for turn in rota.turns.filter(place=place):
            beside = rota.turns.filter(session=turn.session, hide=turn.hide, place__isnull=False).exclude(place=place)
            met |= {row.place for row in beside}
        assert shown[str(place.uuid)] == tuple(sorted(row.participant.name for row in met))


def test_rota_show_costs_the_same_queries_however_large(as_leader, trip, rota, django_assert_max_num_queries):
    issue(rota)
    where = url("rota-number", trip, number=rota.number)
    as_leader.get(where)
    with django_assert_max_num_queries(19):
        as_leader.get(where)
    for _ in range(5):
        factories.hide(site=trip.sites.get())
        factories.place(trip=trip)
        factories.session(trip=trip)
    with django_assert_max_num_queries(19):
        as_leader.get(where)
    with django_assert_max_num_queries(20):
        as_leader.get(where, {"rows": "hides"})


def test_a_rota_made_on_old_data_says_so(as_leader, trip, rota):
    where = url("rota-number", trip, number=rota.number)
    assert "Made before the change of" not in text(as_leader.get(where))
    trip.sites.get().hides.first().save()
    assert "Made before the change of" in text(as_leader.get(where))


def test_a_site_or_an_animal_that_changed_makes_a_rota_old(as_leader, trip, rota):
    where = url("rota-number", trip, number=rota.number)
    site, hide = trip.sites.get(), trip.sites.get().hides.first()
    chance = factories.hide_subject(hide=hide)
    Rota.objects.filter(pk=rota.pk).update(made_at=timezone.now())
    assert "Made before the change of" not in text(as_leader.get(where))
    chance.subject.save()
    assert "Made before the change of" in text(as_leader.get(where))
    Rota.objects.filter(pk=rota.pk).update(made_at=timezone.now())
    site.save()
    assert "Made before the change of" in text(as_leader.get(where))


def test_a_rota_says_that_what_it_was_made_from_was_taken_away(as_leader, trip):
    first, second = trip.places.all()[:2]
    together = Pairing.objects.create(trip=trip, first=first, second=second, kind="together")
    rota = planned(trip)
    pages = [url(name, trip, number=rota.number) for name in ("rota-number", "rota-issue")]
    assert not any("Made before the change of" in text(as_leader.get(page)) for page in pages)
    pairing_remove(pairing=together)
    assert all("Made before the change of" in text(as_leader.get(page)) for page in pages)
    assert as_leader.post(pages[1], {"seen_version": rota.version}).status_code == 302  # the check accepts it


@pytest.mark.parametrize("name", ["rota-show", "rota-make", "rota-making", "rota-history"])
def test_another_leader_gets_404(client, trip, name):
    client.force_login(factories.leader())
    assert client.get(url(name, trip)).status_code == 404


def test_apart_is_nowhere_on_what_the_page_tells_everybody(as_leader, trip):
    first, second = trip.places.all()[:2]
    Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    rota = planned(trip)
    told = [sentence for sentences in rota.result["told"].values() for sentence in sentences]
    told += [sentence for sentences in rota.result["why"].values() for sentence in sentences]
    told += [reason for turn in rota.turns.all() for reason in turn.reasons]
    assert not any("apart" in sentence for sentence in told)
