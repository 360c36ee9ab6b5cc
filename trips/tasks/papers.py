"""Prints packs of papers; a worker does."""

from django_tasks import task

from trips.services import paper_pack


@task(queue_name="papers")
def paper_pack_print(pack_uuid: str) -> str:
    """Print a waiting pack; returns the state in which it ended."""
    return paper_pack.paper_pack_print(pack_uuid=pack_uuid).state
