"""The rota's page: seats, light, counts, and what it was made from; as the leader and a stranger."""

import re

import pytest
from django.db.models import F
from django.utils import timezone

from tests import factories
from tests.trips.rota_page_steps import a_turn, text, url
from tests.trips.rota_trips import estate, planned
from trips.models import Hide, Pairing, Rota, SessionHide
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


@pytest.mark.parametrize("asked", ["2027-02-30", "2027-13-45", "9999-12-31", "x", "\x00"])
def test_rota_show_opens_at_its_own_day_where_none_such_is_asked_for(as_leader, rota, asked):
    answer = as_leader.get(url("rota-show", rota.trip), {"day": asked})
    assert answer.context["day"] == as_leader.get(url("rota-show", rota.trip)).context["day"]


def test_rota_show_has_people_in_named_seats_light_counts_and_the_guarantee(as_leader, trip, rota):
    page = text(as_leader.get(url("rota-show", trip)))
    turn = a_turn(rota)
    assert turn.place.participant.name in page
    assert turn.seat.name in page
    assert "front light" in page
    assert "drawing-small" in page
    assert "of their own best" in page
    assert "Fair shares" in page


def test_every_hide_that_is_not_closed_has_its_light_also_where_nobody_sits(client):
    trip = estate(people=2, seats=(2, 2, 2), sessions=2, leader_policy="never")
    client.force_login(trip.leader)
    rota = planned(trip)
    first, last = trip.sessions.all()
    taken = {session: rota.turns.filter(session=session).values("hide") for session in (first, last)}
    free = {session: Hide.objects.exclude(pk__in=hides).first() for session, hides in taken.items()}
    SessionHide.objects.create(session=first, hide=free[first], state="unavailable", reason="let")
    SessionHide.objects.create(session=last, hide=free[last], state="notice", notice_h=2)
    shown = {
        (line.session, cell.hide.name): cell.light
        for _, sessions in rota_page(rota).days
        for line in sessions
        for cell in line.cells
    }
    assert shown.pop((str(first.uuid), free[first].name)) == {}
    assert len(shown) == 5
    assert all({"light", "drawing", "cautions"} <= light.keys() for light in shown.values())
    page = text(client.get(url("rota-number", trip, number=rota.number)))
    assert page.count('class="rota-light"') == page.count("drawing-small") == 5


def test_a_name_may_be_dropped_on_every_free_seat_and_hide_that_takes_people(as_leader, trip, rota):
    first, _ = trip.sessions.all()
    shut, asked = trip.sites.get().hides.all()[:2]
    SessionHide.objects.create(session=first, hide=shut, state="unavailable", reason="let")
    SessionHide.objects.create(session=first, hide=asked, state="notice", notice_h=2)
    where = url("rota-number", trip, number=rota.number)
    page = text(as_leader.get(where))
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
    assert "data-drop" not in text(as_leader.get(where))


def test_whom_each_has_sat_with_is_told_by_person_not_by_name(trip, rota):
    one, other = (place.participant for place in trip.places.all()[:2])
    other.name = one.name
    other.save()
    shown = {line.place: line.company for line in rota_page(rota).lines}
    for place in trip.places.all():
        met = set()
        for turn in rota.turns.filter(place=place):
            beside = rota.turns.filter(session=turn.session, hide=turn.hide, place__isnull=False).exclude(place=place)
            met |= {row.place for row in beside}
        assert shown[str(place.uuid)] == tuple(sorted(row.participant.name for row in met))


def test_rota_show_costs_the_same_queries_however_large(as_leader, trip, rota, django_assert_num_queries):
    where = url("rota-number", trip, number=rota.number)
    as_leader.get(where)
    with django_assert_num_queries(21):
        as_leader.get(where)
    for _ in range(5):
        factories.hide(site=trip.sites.get())
        factories.place(trip=trip)
        factories.session(trip=trip)
    with django_assert_num_queries(21):
        as_leader.get(where)


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
