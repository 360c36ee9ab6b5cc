"""The mail that says who is overdue: to the co-leaders, once, after the trip's minutes, and never of people back."""

from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from tests import factories
from tests.trips.command_line import run
from tests.trips.day_pages import START
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips.models import Happening, MailState, Notice, Trip, Turn
from trips.selectors.told import told_issues
from trips.services.issue_erased import place_unnamed
from trips.services.notices import notices_send
from trips.services.overdue import overdue_tell
from trips.tasks.overdue import overdue_watch, overdue_watch_set

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
made = made_once(issued_trip)
DUE = START + timedelta(hours=4)
MINUTES = timedelta(minutes=1)


@pytest.fixture
def trip(made):
    trip = Trip.objects.get(pk=made.pk)
    trip.co_leaders.add(factories.leader(username="rui", email="rui@example.org"))
    for place in trip.places.all()[2:]:  # who is never ticked would be missed too
        Happening.objects.create(trip=trip, kind="not_coming", session=trip.sessions.first(), place=place, at=START)
    return trip


def noted(trip, session, kind, at=START):
    """The same of the two people of the first hide."""
    for turn in Turn.objects.filter(session=session, place__in=trip.places.all()[:2]):
        Happening.objects.create(trip=trip, kind=kind, session=session, place=turn.place, hide=turn.hide, at=at)


def alarms():
    return list(Notice.objects.exclude(session=None))


def sent(clock, at):
    """The mails that went out at that moment to co-leaders."""
    mail.outbox.clear()
    clock.moment = at
    notices_send()
    return [one for one in mail.outbox if one.to == ["rui@example.org"]]


def test_the_co_leader_is_told_once_and_led_to_what_to_do(trip, session, clock):
    noted(trip, session, "out")
    assert overdue_tell(session=session, now=DUE + 24 * MINUTES) == DUE + 25 * MINUTES
    assert not alarms()
    for _ in range(2):
        assert overdue_tell(session=session, now=DUE + 26 * MINUTES) is None
    (alarm,) = alarms()
    (letter,) = sent(clock, DUE + 27 * MINUTES)
    names = [place.participant.name for place in trip.places.all()[:2]]
    assert letter.subject == f"Overdue: {', '.join(names)} in {alarm.hide.name}"
    assert f"{reverse('trips:emergency-show', args=[trip.uuid, alarm.hide.uuid])}#what-to-do" in letter.body
    assert "ended at 10:45" in letter.body
    assert not sent(clock, DUE + 60 * MINUTES)
    assert not [line for one in told_issues(trip) for line in one.lines if line.notice.pk == alarm.pk]


def test_nobody_is_mailed_of_people_who_are_back(trip, session, clock):
    noted(trip, session, "out")
    overdue_tell(session=session, now=DUE + 26 * MINUTES)
    noted(trip, session, "back", DUE + 27 * MINUTES)
    assert not sent(clock, DUE + 40 * MINUTES)
    assert alarms()[0].mail == MailState.NONE


def test_the_mail_does_not_wait_for_an_earlier_one_and_erased_people_leave_it(trip, session, clock):
    leader = trip.co_leaders.get()
    Notice.objects.create(
        issue=trip.rotas.get(state="issued").issue, leader=leader, mail="waiting", mail_due_at=DUE + timedelta(days=9)
    )
    noted(trip, session, "out")
    overdue_tell(session=session, now=DUE + 26 * MINUTES)
    assert len(sent(clock, DUE + 27 * MINUTES)) == 1
    place = trip.places.first()
    place_unnamed(place, place.participant.name)
    assert place.participant.name not in str(alarms()[0].summary)


def test_without_a_co_leader_the_leader_is_told_after_the_minutes_of_the_rules(trip, session):
    trip.co_leaders.clear()
    trip.rules.overdue_mail_min = 50
    trip.rules.save()
    noted(trip, session, "out")
    assert overdue_tell(session=session, now=DUE + 30 * MINUTES) == DUE + 50 * MINUTES
    overdue_tell(session=session, now=DUE + 51 * MINUTES)
    assert [alarm.leader for alarm in alarms()] == [trip.leader]


def test_somebody_reached_is_waited_for_anew(trip, session):
    noted(trip, session, "out")
    until = DUE + 120 * MINUTES
    noted(trip, session, "reached", DUE)
    Happening.objects.filter(kind="reached").update(until_at=until)
    assert overdue_tell(session=session, now=DUE + 30 * MINUTES) == until + 25 * MINUTES
    assert not alarms()


def test_where_nobody_was_ticked_nobody_is_told(trip, session):
    assert overdue_tell(session=session, now=DUE + 30 * MINUTES) is None
    assert not alarms()


def test_a_worker_looks_after_each_session_once_and_again_when_the_next_is_due(trip, session, clock):
    clock.moment = START
    overdue_watch_set(trip.sessions.all(), now=START)
    overdue_watch_set(trip.sessions.all(), now=START)
    waiting = DBTaskResult.objects.filter(task_path=overdue_watch.module_path)
    assert waiting.count() == trip.sessions.count()
    assert waiting.order_by("run_after").first().run_after == DUE + 25 * MINUTES
    noted(trip, session, "out")
    clock.moment = DUE + 10 * MINUTES
    assert overdue_watch.call(str(session.uuid)) == "looks again"
    clock.moment = DUE + 26 * MINUTES
    assert overdue_watch.call(str(session.uuid)) == "nobody is waited for"
    assert len(alarms()) == 1
    assert overdue_watch.call(str(trip.uuid)) == "the session is gone"


def test_a_tick_that_arrives_after_its_session_has_a_worker_look_at_once(as_leader, trip, session, clock):
    clock.moment = DUE + 90 * MINUTES
    as_leader.force_login(trip.leader)
    who = {"who": f"place-{trip.places.first().uuid}", "what": "out"}
    path = reverse("trips:out-tick", args=[trip.uuid, session.uuid])
    as_leader.post(path, who, headers={"X-Queued": "1", "X-Queued-Seconds": str(5 * 3600)})
    (task,) = DBTaskResult.objects.filter(task_path=overdue_watch.module_path)
    assert task.run_after - clock.moment < MINUTES


def test_the_command_tells_too(trip, session, clock):
    noted(trip, session, "out")
    clock.moment = DUE + 30 * MINUTES
    assert run("watch_overdue").code == 1
    assert len(alarms()) == 1
