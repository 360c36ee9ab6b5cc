"""Runs of the planner in a worker of its own: killed, cancelled, silent."""

import sqlite3
from pathlib import Path

from tests.trips.own_database import OwnDatabase
from tests.waiting import until

BIG_TRIP = """
from tests.trips.rota_trips import estate
from trips.services.making import Wanted, making_start
from django.utils import timezone
trip = estate(people=14, seats=(4, 4, 4, 4), sessions=14)
making = making_start(trip=trip, wanted=Wanted(search_time='thorough'), by=trip.leader, now=timezone.now())
import sys
answer = [str(trip.uuid), str(making.uuid), "ortools" in sys.modules]
"""


AFTERWARDS = """
from datetime import timedelta
from django.utils import timezone
from trips.models import Making, Trip
from trips.selectors.making import STALE_AFTER_S, last_making, making_state
from trips.services.making import Wanted, making_start
trip = Trip.objects.get()
old = last_making(trip)
later = timezone.now() + timedelta(seconds=STALE_AFTER_S + 1)
shown = making_state(old, later)
new = making_start(trip=trip, wanted=Wanted(search_time='quick'), by=None, now=later)
old.refresh_from_db()
answer = {"shown": shown, "stored": old.state, "new": new.pk != old.pk, "rotas": trip.rotas.count()}
"""


# The pause is the subject: a planner that says nothing for ten minutes.
SILENT_RUN = """
from functools import partial
from time import sleep
from tests.trips.rota_trips import estate
from trips.services import making_run as room
from trips.services.making import Wanted, making_open
from trips.services.making_run import Pulse
from django.utils import timezone
room.solve, room.Pulse = lambda problem, **ignored: sleep(600), partial(Pulse, every_s=0.2)
making, _ = making_open(trip=estate(), wanted=Wanted(search_time='quick'), by=None, now=timezone.now())
room.making_run(making_uuid=making.uuid)
"""


def asked(path: Path, columns: str) -> tuple[object, ...] | None:
    """The latest run's columns, read past Django."""
    with sqlite3.connect(path, timeout=20) as database:
        row: tuple[object, ...] | None = database.execute(
            f"SELECT {columns} FROM trips_making ORDER BY id DESC LIMIT 1"
        ).fetchone()
        return row


def wait_for(path: Path, columns: str, wanted: object) -> None:
    """Look until the first column of the latest run is as wanted."""

    def is_wanted() -> bool:
        row = asked(path, columns)
        return row is not None and row[0] == wanted

    until(is_wanted, within_s=120, what=f"{columns} is {wanted}")


def test_a_killed_worker_leaves_a_run_that_is_not_finished_and_a_new_one_can_start(tmp_path: Path) -> None:
    own = OwnDatabase(tmp_path)
    _, _, solver_loaded = own.program(BIG_TRIP)
    assert not solver_loaded
    worker = own.worker()
    try:
        wait_for(own.path, "state", "running")
        wait_for(own.path, "best IS NOT NULL", 1)
    finally:
        worker.kill()
        worker.wait(timeout=30)
    state, heartbeat_at = asked(own.path, "state, heartbeat_at")
    assert (state, bool(heartbeat_at)) == ("running", True)
    after = own.program(AFTERWARDS)
    assert after == {"shown": "not_finished", "stored": "not_finished", "new": True, "rotas": 0}
    second = own.worker()
    try:
        wait_for(own.path, "state", "finished")
    finally:
        second.kill()
        second.wait(timeout=30)
    assert asked(own.path, "rota_id IS NOT NULL")[0] == 1


def test_a_worker_hears_that_a_run_is_cancelled(tmp_path: Path) -> None:
    own = OwnDatabase(tmp_path)
    own.program(BIG_TRIP)
    worker = own.worker()
    try:
        wait_for(own.path, "best IS NOT NULL", 1)
        own.program(
            "from trips.models import Making\nfrom trips.services.making import making_cancel\n"
            "from django.utils import timezone\n"
            "making_cancel(making=Making.objects.get(), now=timezone.now())\nanswer = 0"
        )
        wait_for(own.path, "state", "stopped")
    finally:
        worker.kill()
        worker.wait(timeout=30)
    found = own.program("from trips.models import Rota\nanswer = [r.result['status'] for r in Rota.objects.all()]")
    assert found == ["stopped_early"]


def test_signs_of_life_go_on_while_the_planner_is_silent_and_end_with_the_process(tmp_path: Path) -> None:
    own = OwnDatabase(tmp_path)
    silent = own.start(SILENT_RUN)
    try:
        wait_for(own.path, "(SELECT COUNT(*) FROM trips_making WHERE state = 'running')", 1)
        seen = {asked(own.path, "heartbeat_at")}
        until(lambda: seen.add(asked(own.path, "heartbeat_at")) or len(seen) >= 4, what="four signs of life")
    finally:
        silent.kill()
        silent.wait(timeout=30)
    last = asked(own.path, "heartbeat_at")
    after = own.program(AFTERWARDS)  # takes longer than signs of life are apart
    assert asked(own.path, "(SELECT heartbeat_at FROM trips_making ORDER BY id LIMIT 1)") == last
    assert after == {"shown": "not_finished", "stored": "not_finished", "new": True, "rotas": 0}
