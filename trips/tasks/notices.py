"""Mails that tell people of an issue; a worker sends them."""

from django_tasks import task

from trips.services import notices


@task()
def notices_send(issue_uuid: str) -> int:
    """Mail everybody whom an issue changes something for."""
    return notices.notices_send(issue_uuid=issue_uuid)
