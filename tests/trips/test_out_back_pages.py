"""Who is out and who is back: ticks, waiting ticks, and who is overdue."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest

from tests import factories
from tests.trips.day_pages import START, clock_at, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models
from trips.documents.overdue import RescueFacts, escalation
from trips.models import Happening
from trips.selectors.day_state import session_day

pytestmark = pytest.mark.django_db
AFTER_PICK_UP = START + timedelta(hours=4, minutes=16)
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


def tick(client, trip, session, who, what, at=START):
    with clock_at(at):
        return client.post(url("out-tick", trip, session), {"who": who, "what": what}, follow=True).content.decode()


def who_is_out(client, trip, session, at=START):
    with clock_at(at):
        return client.get(url("out-show", trip, session)).content.decode()


def key(place):
    return f"place-{place.uuid}"


def stands(session):
    """(out_at, back_at) of everybody of whom anything holds, by key."""
    people = session_day(session, now=START + timedelta(days=9)).state.sessions[0].people
    return {one.person: (one.out_at, one.back_at) for one in people if one.last}


def only(session):
    """(out_at, back_at) of the one person of whom anything holds."""
    (found,) = stands(session).values()
    return found


def test_a_tick_notes_the_time_and_who_ticked(as_leader, trip, session):
    place = trip.places.first()
    page = tick(as_leader, trip, session, key(place), "out", START - timedelta(minutes=24))
    assert "since 06:21" in page
    row = Happening.objects.get()
    assert (row.kind, row.place, row.by, row.at) == ("out", place, trip.leader, START - timedelta(minutes=24))
    page = tick(as_leader, trip, session, key(place), "back", START + timedelta(hours=4))
    assert "10:45, out 06:21" in page


def test_the_second_leader_to_tick_is_told_of_the_first(as_leader, trip, session):
    place = trip.places.first()
    tick(as_leader, trip, session, key(place), "out")
    page = tick(as_leader, trip, session, key(place), "out", START + timedelta(minutes=3))
    assert "was ticked already at 06:45" in page
    assert only(session)[0] == START


def test_all_of_a_hide_go_out_and_come_back_with_one_press(as_leader, trip, session):
    hide = models.Turn.objects.filter(session=session).first().hide
    together = re.compile(r'name="who" value="([^"]+ [^"]+)"><input type="hidden" name="what" value="(\w+)"')
    (out, _), *_ = together.findall(who_is_out(as_leader, trip, session))
    page = tick(as_leader, trip, session, out, "out")
    assert Happening.objects.filter(kind="out", hide=hide, at=START).count() == 2
    back = next(who for who, what in together.findall(page) if what == "back")
    assert back == out
    tick(as_leader, trip, session, back, "back", AFTER_PICK_UP)
    assert [back for _, back in stands(session).values()] == [AFTER_PICK_UP] * 2


# A tick that waited on the phone for a network
def late_tick(client, trip, session, who, what, at, waited_s, **more):
    """What the server answers a tick that arrives at `at` after it waited."""
    headers = {"X-Queued": "1", "X-Queued-Seconds": str(waited_s)}
    with clock_at(at):
        answer = client.post(url("out-tick", trip, session), {"who": who, "what": what} | more, headers=headers)
    return answer.json()


def test_a_tick_that_waited_has_the_moment_of_the_tap_and_is_taken_once(as_leader, trip, session):
    who, sent = key(trip.places.first()), {"client_uuid": str(uuid4())}
    late = START + timedelta(minutes=90)
    for _ in range(2):
        said = late_tick(as_leader, trip, session, who, "out", late, 90 * 60, **sent)
        assert said == {"taken": True, "errors": []}
    assert only(session)[0] == START
    late_tick(as_leader, trip, session, who, "undo", late, 0)
    late_tick(as_leader, trip, session, who, "out", late, 90 * 60, **sent)  # once more: it was taken already
    assert not stands(session)


def test_the_earlier_of_two_taps_stays_and_the_later_one_is_no_fault(as_leader, trip, session):
    who = key(trip.places.first())
    tick(as_leader, trip, session, who, "out", START)
    assert late_tick(as_leader, trip, session, who, "out", START + timedelta(hours=1), 30 * 60)["taken"]
    assert only(session)[0] == START
    assert late_tick(as_leader, trip, session, who, "out", START + timedelta(hours=1), 70 * 60)["taken"]
    assert only(session)[0] == START - timedelta(minutes=10)
    tick(as_leader, trip, session, who, "back", START + timedelta(hours=4))
    assert late_tick(as_leader, trip, session, who, "back", START + timedelta(hours=5), 90 * 60)["taken"]
    assert only(session)[1] == START + timedelta(hours=3, minutes=30)


def test_back_before_out_is_refused_in_words(as_leader, trip, session):
    who = key(trip.places.first())
    tick(as_leader, trip, session, who, "out", START)
    said = late_tick(as_leader, trip, session, who, "back", START + timedelta(hours=1), 2 * 3600)
    assert not said["taken"]
    assert "was ticked out at 06:45, which is later" in said["errors"][0]
    assert only(session)[1] is None


@pytest.mark.parametrize("waited_s", ["-5", "soon", "99999999999", "1e3", ""])
def test_a_wait_that_cannot_be_counts_as_none(as_leader, trip, session, waited_s):
    late_tick(as_leader, trip, session, key(trip.places.first()), "out", START, waited_s)
    assert only(session)[0] == START


def test_a_tick_of_somebody_whose_turn_is_gone_says_so(as_leader, trip, session):
    said = late_tick(as_leader, trip, session, key(factories.place()), "out", START, 60)
    assert not said["taken"]
    assert "no longer has a seat in this session" in said["errors"][0]


def test_a_tick_can_be_taken_back_step_by_step(as_leader, trip, session):
    who = key(trip.places.first())
    tick(as_leader, trip, session, who, "out")
    tick(as_leader, trip, session, who, "back")
    tick(as_leader, trip, session, who, "undo")
    assert only(session)[1] is None
    tick(as_leader, trip, session, who, "undo")
    assert not stands(session)
    assert "nothing to take back" in tick(as_leader, trip, session, who, "undo")


def test_who_is_not_back_after_the_pick_up_window_is_overdue_with_the_order_of_help(as_leader, trip, session):
    first, second = trip.places.all()[:2]
    site = trip.sites.get()
    site.emergency_number, site.owner, site.radio = "112", "Benigno", "channel 4"
    site.save()
    first.participant.phone = "+44 1632 960101"
    first.participant.save()
    tick(as_leader, trip, session, key(first), "out")
    assert "Overdue" not in who_is_out(as_leader, trip, session, START + timedelta(hours=4, minutes=15))
    page = who_is_out(as_leader, trip, session, AFTER_PICK_UP)
    assert page.count("Not back") >= 2
    assert "out since 06:45" in page
    assert "nobody ticked them out" in page
    steps = [page.index(words) for words in ("Call: ", "Two people drive to", "Tell the owner: Benigno", "Call 112")]
    assert steps == sorted(steps)
    tick(as_leader, trip, session, key(first), "back", AFTER_PICK_UP)
    tick(as_leader, trip, session, key(second), "back", AFTER_PICK_UP)
    assert all(back for _, back in stands(session).values())


def test_nobody_is_overdue_where_nobody_was_ticked_at_all(as_leader, trip, session):
    assert "Overdue" not in who_is_out(as_leader, trip, session, AFTER_PICK_UP + timedelta(days=3))


def test_a_leaders_own_turn_is_ticked_too(as_leader, trip, session):
    hide = trip.sites.get().hides.last()
    rota = trip.rotas.get(state="issued")
    factories.turn(rota=rota, session=session, hide=hide, seat=hide.seats.first(), leader=trip.leader)
    tick(as_leader, trip, session, f"leader-{trip.leader.pk}", "out")
    assert Happening.objects.get().leader == trip.leader


@pytest.mark.parametrize("who", ["", "place-", "everybody", "leader-99999999999999999999", "place-" + "0" * 36])
def test_a_tick_of_nobody_changes_nothing(as_leader, trip, session, who):
    assert "Choose who it is about" in tick(as_leader, trip, session, who, "out")
    assert not Happening.objects.exists()


def test_a_person_of_another_trip_cannot_be_ticked(as_leader, trip, session):
    stranger = factories.place()
    tick(as_leader, trip, session, key(stranger), "out")
    assert not Happening.objects.exists()


def test_the_list_renews_itself_as_a_part_of_the_page(as_leader, trip, session):
    part = as_leader.get(url("out-show", trip, session), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert trip.places.first().participant.name in part


def test_who_is_out_asks_the_database_a_fixed_number_of_times(as_leader, trip, session, django_assert_num_queries):
    with django_assert_num_queries(32) as seen:
        as_leader.get(url("out-show", trip, session))
    larger = issued_trip(people=6, hides=4, sessions=6)
    path = url("out-show", larger, larger.sessions.first())
    as_leader.force_login(larger.leader)
    with django_assert_num_queries(len(seen)):
        as_leader.get(path)


def test_what_is_missing_in_the_order_of_help_says_to_follow():
    steps = escalation(RescueFacts("Alder", 10))
    assert len(steps) == 4
    assert all("None" not in step and "  " not in step for step in steps)
    assert sum("to follow" in step for step in steps) == 3


def test_a_telephone_number_stands_in_order_beside_a_name_from_right_to_left():
    steps = escalation(
        RescueFacts("אלון 3", 10, phones=(("אבי", "600 000 001"),), owner="דן", owner_contact="600 000 002")
    )
    assert steps[0] == "Call: \u2068אבי\u2069 600 000 001."
    assert steps[1].startswith("Two people drive to \u2068אלון 3\u2069, about 10 min;")
    assert steps[2] == "Tell the owner: \u2068דן\u2069 600 000 002."
