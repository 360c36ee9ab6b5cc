"""What a worker does for people: mails that a page must not wait for."""

from collections.abc import Iterable
from datetime import datetime

from django_tasks import TaskResultStatus, task
from django_tasks_db.models import DBTaskResult

from participants.mail import device_mail_send
from participants.models import Participant
from participants.selectors import people_reached_at, zone_of
from participants.services import link_send


@task()
def link_request_send(email: str) -> None:
    """Mail a fresh sign-in link to that address. Always queued, so that no answer's time tells who exists."""
    for person in people_reached_at(email):
        person_link_send.enqueue(str(person.uuid))  # each has turns of its own where the mail server is busy


@task()
def person_link_send(person_uuid: str) -> None:
    """Mail a fresh sign-in link to one person."""
    person = Participant.objects.filter(uuid=person_uuid, erased_at__isnull=True).select_related("leader").first()
    if person is not None:
        link_send(person=person)


@task()
def device_added_send(person_uuid: str, name: str, signed_in_at: str) -> None:
    """Tell a person by mail of a new device, also when it signed out at once: its row may be gone by now."""
    person = Participant.objects.filter(uuid=person_uuid, erased_at__isnull=True).select_related("leader").first()
    if person is None:
        return
    at = datetime.fromisoformat(signed_in_at)
    device_mail_send(person=person, name=name, at=at, zone=zone_of(person.places.all(), today=at.date()) or "UTC")


def task_traces_delete(*, names: Iterable[str], email: str) -> None:
    """Delete what the queue keeps of a person: errors that name them, and what was asked for by their address.

    An address that somebody else gave too is theirs as well, and what it asked for stays.
    """
    ended = DBTaskResult.objects.filter(status__in=(TaskResultStatus.SUCCESSFUL, TaskResultStatus.FAILED))
    for name in names:
        ended.filter(traceback__contains=name).delete()
    if not email or people_reached_at(email):
        return
    asked = DBTaskResult.objects.filter(task_path=link_request_send.module_path)
    for row in asked.exclude(status=TaskResultStatus.RUNNING):
        if row.args_kwargs["args"][0].strip().lower() == email.strip().lower():
            row.delete()
