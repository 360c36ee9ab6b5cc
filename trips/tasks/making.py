"""Runs the planner; only a worker does."""

from django_tasks import task

from trips.services import making_run as services


@task(queue_name="plans")
def making_run(making_uuid: str) -> str:
    """Run the planner for a waiting run and keep what it found; returns the state in which the run ended."""
    return services.making_run(making_uuid=making_uuid).state
