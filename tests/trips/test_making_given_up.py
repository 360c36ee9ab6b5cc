"""Runs that come back after they were given up: they write nothing."""

import logging
from datetime import timedelta

import pytest
from django.utils import timezone

from tests.trips.making_runs import active_making, meanwhile, started
from tests.trips.rota_trips import estate
from trips.core.rota.search.outcome import Outcome, Progress
from trips.core.rota.search.solve import solve
from trips.models import Making, Rota, Trip
from trips.selectors.making import STALE_AFTER_S
from trips.services import making_run as room
from trips.services.making import makings_give_up
from trips.services.making_run import making_run

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


def given_up_for_another(trip: Trip) -> Making:
    """The run under way goes silent; somebody starts another, which a worker takes up."""
    late = timezone.now() + timedelta(seconds=STALE_AFTER_S + 1)
    assert makings_give_up(trip=trip, now=late) == 1
    second = started(trip)
    Making.objects.filter(pk=second.pk).update(state="running", heartbeat_at=late)
    return second


def test_a_run_that_comes_back_after_it_was_given_up_writes_nothing(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    trip = estate()
    making = started(trip)
    meanwhile(monkeypatch, lambda: given_up_for_another(trip))
    with caplog.at_level(logging.WARNING):
        done = making_run(making_uuid=making.uuid)
    assert (done.state, done.rota, Rota.objects.count()) == ("not_finished", None, 0)
    second = active_making(trip)
    assert second is not None
    assert (second.pk != making.pk, second.state, second.rota, second.best) == (True, "running", None, None)
    assert not caplog.records


def test_a_run_that_breaks_after_it_was_given_up_stays_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate()
    making = started(trip)

    def breaks(problem, **asked) -> Outcome:
        given_up_for_another(trip)
        raise MemoryError

    monkeypatch.setattr(room, "solve", breaks)
    with pytest.raises(MemoryError):
        making_run(making_uuid=making.uuid)
    making.refresh_from_db()
    assert (making.state, making.explanation) == ("not_finished", {})


def test_a_run_that_was_given_up_is_told_to_stop_and_shows_no_sign_of_life(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate()
    making = started(trip)
    monkeypatch.setattr(room, "BEAT_EVERY_S", 0.0)
    heard = []

    def listens(problem, *, progress, stop, **asked) -> Outcome:
        heard.append(stop.now())
        given_up_for_another(trip)
        progress(Progress(stage="worst_share", worst_share=0.5, bound=0.9))
        heard.append(stop.now())
        return solve(problem, progress=progress, **asked)

    monkeypatch.setattr(room, "solve", listens)
    making_run(making_uuid=making.uuid)
    making.refresh_from_db()
    assert heard == [False, True]
    assert (making.state, making.stage, making.best) == ("not_finished", "", None)
