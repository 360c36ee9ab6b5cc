"""Runs the planner; only a worker does."""

from datetime import timedelta

from django.utils import timezone
from django_tasks import task

from trips.selectors.making import run_waits
from trips.services import making_run as services

LOOK_AGAIN = timedelta(seconds=10)  # where all who wait have as many runs under way as a leader may


@task(queue_name="plans")
def making_run(making_uuid: str) -> str:
    """Run the planner for the run whose turn it is, and keep what it found; returns the state in which it ended.

    Each run that is asked for brings one task, so each comes to its turn, with whichever task (`making_uuid`: the run
    that brought this one).
    """
    state = services.making_run_in_turn(making_uuid)
    if not state and run_waits():
        making_run.using(run_after=timezone.now() + LOOK_AGAIN).enqueue(making_uuid)
    return state
