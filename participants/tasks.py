"""What a worker does for people: mails that a page must not wait for."""

from django_tasks import task

from participants.services import link_request


@task()
def link_request_send(email: str) -> None:
    """Mail a fresh way in to whoever gave that address. Always queued, so that no answer's time tells who exists."""
    link_request(email=email)
