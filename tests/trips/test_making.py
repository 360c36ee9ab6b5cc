"""Runs of the planner: one at a time, with signs of life, cancelled, silent, impossible."""

import threading
from contextlib import suppress
from datetime import datetime, timedelta
from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest
from django.db import OperationalError
from django.db.models import F
from django.http import Http404
from django_tasks_db.models import DBTaskResult

from tests import factories
from tests.trips.making_runs import active_making
from tests.trips.rota_trips import A_LITTLE, LONG_BEFORE, estate, planned
from tests.waiting import until
from trips.core.rota.search.outcome import NOTHING_FOUND, Outcome, SearchTime
from trips.models import Making, Pairing, Rota
from trips.selectors.making import NO_SIGN_AFTER_S, STALE_AFTER_S, last_making, making_for, making_state, run_in_turn
from trips.services import making_run as room
from trips.services.making import NothingIssued, Wanted, making_cancel, making_open, making_start, makings_give_up
from trips.services.making_run import PULSE_EVERY_S, Pulse, making_run
from trips.tasks.making import LOOK_AGAIN
from trips.tasks.making import making_run as making_task

LITTLE = Wanted(search_time=A_LITTLE)


@pytest.mark.django_db
def test_two_presses_give_one_run() -> None:
    trip = estate()
    first = making_start(trip=trip, wanted=LITTLE, by=trip.leader, now=LONG_BEFORE)
    second = making_start(trip=trip, wanted=Wanted(seed=9), by=trip.leader, now=LONG_BEFORE)
    assert first == second
    assert second.seed == 0
    assert Making.objects.count() == 1
    assert DBTaskResult.objects.count() == 1


@pytest.mark.django_db
def test_no_run_waits_without_its_task(monkeypatch: pytest.MonkeyPatch) -> None:
    def locked(*args, **kwargs) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(DBTaskResult.objects, "create", locked)
    trip = estate()
    with pytest.raises(OperationalError):
        making_start(trip=trip, wanted=LITTLE, by=trip.leader, now=LONG_BEFORE)
    assert not Making.objects.exists()


@pytest.mark.django_db
def test_a_run_ends_with_a_draft_and_its_figures() -> None:
    trip = estate()
    made, _ = making_open(trip=trip, wanted=LITTLE, by=trip.leader, now=LONG_BEFORE)
    done = making_run(making_uuid=made.uuid)
    assert done.state == "finished"
    assert done.rota is not None
    assert done.best == pytest.approx(done.rota.result["worst_share"])
    assert done.bound is not None
    assert done.progress[-1][1:] == [round(done.best, 4), round(done.bound, 4)]
    assert done.rota.search_time == done.search_time == "quick"
    assert done.heartbeat_at is not None
    assert done.ended_at is not None
    assert active_making(trip) is None
    assert last_making(trip) == done
    assert making_for(trip, done.uuid) == done
    with pytest.raises(Http404):
        making_for(estate(), done.uuid)


@pytest.mark.django_db
def test_a_run_is_run_once() -> None:
    trip = estate()
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    making_run(making_uuid=made.uuid)
    assert making_run(making_uuid=made.uuid).state == "finished"
    assert Rota.objects.count() == 1


@pytest.mark.django_db
def test_an_impossible_trip_says_why_and_keeps_no_rota() -> None:
    trip = estate(people=6, seats=(2, 2, 1), sessions=1)
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    done = making_run(making_uuid=made.uuid)
    assert (done.state, done.rota) == ("impossible", None)
    assert any("6 people, 5 seats, 1 short" in sentence for sentence in done.explanation["leader"])
    assert any("What would help" in sentence for sentence in done.explanation["leader"])


@pytest.mark.django_db
def test_an_impossibility_that_rests_on_apart_is_told_to_leaders_alone() -> None:
    trip = estate(people=2, seats=(2,), sessions=1)
    first, second = trip.places.all()
    Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    explanation = making_run(making_uuid=made.uuid).explanation
    assert any("kept apart" in sentence for sentence in explanation["leader"])
    assert not any("apart" in sentence or "P1" in sentence for sentence in explanation["public"])
    assert any("to fit the whole group" in sentence for sentence in explanation["public"])


@pytest.mark.django_db
def test_a_run_that_waits_is_cancelled_at_once() -> None:
    trip = estate()
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    assert making_cancel(making=made, now=LONG_BEFORE).state == "stopped"
    assert making_run(making_uuid=made.uuid).state == "stopped"
    assert not Rota.objects.exists()


@pytest.mark.django_db
def test_a_run_that_is_cancelled_keeps_its_best_plan_or_none_and_is_never_impossible() -> None:
    trip = estate(people=6, seats=(2, 2, 2), sessions=6)
    made, _ = making_open(trip=trip, wanted=Wanted(search_time=SearchTime.THOROUGH), by=None, now=LONG_BEFORE)
    Making.objects.filter(pk=made.pk).update(cancel=True, version=F("version") + 1)  # heard at its first sign of life
    done = making_run(making_uuid=made.uuid)
    assert done.state == "stopped"
    if done.rota is not None:
        assert done.rota.result["status"] == "stopped_early"


@pytest.mark.django_db
def test_a_capped_run_says_stopped_early() -> None:
    trip = estate(people=6, seats=(2, 2, 2), sessions=8)
    made, _ = making_open(trip=trip, wanted=Wanted(search_time=SearchTime.THOROUGH), by=None, now=LONG_BEFORE)
    done = making_run(making_uuid=made.uuid, at_most_seconds=1.5)
    assert done.state in ("stopped", "finished")
    assert done.rota is not None
    assert (done.rota.result["status"] == "stopped_early") == (done.state == "stopped")


@pytest.mark.django_db
def test_a_run_that_breaks_is_failed_and_lets_the_next_one_start(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(problem, **asked) -> Outcome:
        raise MemoryError

    trip = estate()
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    monkeypatch.setattr(room, "solve", breaks)
    with pytest.raises(MemoryError):
        making_run(making_uuid=made.uuid)
    made.refresh_from_db()
    assert made.state == "failed"
    assert active_making(trip) is None


@pytest.mark.django_db
def test_a_repair_needs_an_issued_rota() -> None:
    with pytest.raises(NothingIssued):
        making_open(trip=estate(), wanted=Wanted(repair="fewest"), by=None, now=LONG_BEFORE)


@pytest.mark.django_db
def test_a_silent_run_is_not_finished_and_the_last_good_plan_stays() -> None:
    trip = estate()
    kept = planned(trip)
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    Making.objects.filter(pk=made.pk).update(state="running", heartbeat_at=LONG_BEFORE, version=F("version") + 1)
    made.refresh_from_db()
    soon, late = (LONG_BEFORE + timedelta(seconds=STALE_AFTER_S + more) for more in (-1, 1))
    assert making_state(made, soon) == "running"
    assert making_state(made, late) == "not_finished"
    assert makings_give_up(trip=trip, now=soon) == 0
    again = making_start(trip=trip, wanted=LITTLE, by=None, now=late)
    assert again != made
    made.refresh_from_db()
    assert made.state == "not_finished"
    assert list(trip.rotas.all()) == [kept]


def waits_for_a_pulse(making: Making, outcome: Outcome):
    """A planner that says nothing until the run's row has a new sign of life, and then ends without a plan."""

    def silent(problem, **ignored) -> Outcome:
        first = Making.objects.get(pk=making.pk).heartbeat_at

        def has_new_sign() -> bool:
            with suppress(OperationalError):  # a database in memory tells a reader that it is being written to
                return Making.objects.get(pk=making.pk).heartbeat_at > first
            return False

        until(has_new_sign, what="a sign of life while the planner is silent")
        return outcome

    return silent


@pytest.mark.django_db(transaction=True)
def test_a_planner_that_is_silent_for_long_is_not_taken_for_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate()
    made, _ = making_open(trip=trip, wanted=LITTLE, by=None, now=LONG_BEFORE)
    monkeypatch.setattr(room, "solve", waits_for_a_pulse(made, Outcome(NOTHING_FOUND)))
    monkeypatch.setattr(room, "Pulse", partial(Pulse, every_s=0.1))
    before = threading.active_count()
    assert making_run(making_uuid=made.uuid).state == "nothing_found"
    assert threading.active_count() == before


@pytest.mark.django_db(transaction=True)
def test_a_run_that_was_given_up_gets_no_sign_of_life_any_more(monkeypatch: pytest.MonkeyPatch) -> None:
    made, _ = making_open(trip=estate(), wanted=LITTLE, by=None, now=LONG_BEFORE)
    Making.objects.filter(pk=made.pk).update(
        state="not_finished", heartbeat_at=LONG_BEFORE, ended_at=LONG_BEFORE, version=F("version") + 1
    )
    looks: list[datetime] = []

    def looked_at() -> datetime:
        looks.append(LONG_BEFORE + timedelta(hours=1 + len(looks)))
        return looks[-1]

    monkeypatch.setattr(room, "timezone", SimpleNamespace(now=looked_at))
    with Pulse(made, every_s=0.01):
        until(lambda: len(looks) > 3, what="the pulse has beaten three times")
    made.refresh_from_db()
    assert made.heartbeat_at == LONG_BEFORE


def test_the_progress_of_a_long_run_stays_short_and_keeps_its_first_and_last_step() -> None:
    beat = room._Beat(Making())
    for step in range(10_000):
        beat.note(step / 10_000, 1.0)
        beat.note(step / 10_000, 1.0)
    assert len(beat.so_far) <= room.MOST_STEPS
    shares = [share for _, share, _ in beat.so_far]
    assert (shares[0], shares[-1]) == (0.0, 0.9999)
    assert shares == sorted(set(shares))


def test_a_sign_of_life_comes_well_before_it_is_missed() -> None:
    assert PULSE_EVERY_S * 3 <= NO_SIGN_AFTER_S


@pytest.mark.django_db
def test_leaders_take_turns_with_the_planner(monkeypatch: pytest.MonkeyPatch) -> None:
    lena, marta = factories.leader(), factories.leader()

    def asked(leader: Any, minute: int, **more: Any) -> Making:
        at = {"started_at": LONG_BEFORE + timedelta(minutes=minute)}
        return Making.objects.create(trip=factories.trip(), started_by=leader, **(at | more))

    waiting = [asked(lena, 0), asked(lena, 1), asked(marta, 2)]
    asked(None, 0)
    assert run_in_turn(LONG_BEFORE) == waiting[0].uuid
    asked(lena, 3, state="finished", heartbeat_at=LONG_BEFORE)
    assert run_in_turn(LONG_BEFORE) == waiting[2].uuid
    for _ in range(2):
        asked(marta, 4, state="running", heartbeat_at=LONG_BEFORE - timedelta(seconds=1))
    assert run_in_turn(LONG_BEFORE) == waiting[0].uuid
    for _ in range(2):
        asked(lena, 5, state="running", heartbeat_at=LONG_BEFORE)
    assert run_in_turn(LONG_BEFORE) is None
    monkeypatch.setattr(room, "making_run_in_turn", lambda brought_by: "")
    assert making_task.call("") == ""
    task = DBTaskResult.objects.get()
    assert timedelta() < task.run_after - task.enqueued_at <= LOOK_AGAIN
