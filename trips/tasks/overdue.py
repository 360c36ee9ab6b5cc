"""Looks for people who are not back; a worker does, after each session of an issued rota."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.utils import timezone
from django_tasks import TaskResultStatus, task
from django_tasks_db.models import DBTaskResult

from trips.models import Session
from trips.selectors.day_state import ALARM_DAYS, rules_of
from trips.services import overdue


@task()
def overdue_watch(session_uuid: str) -> str:
    """Tell the co-leaders who is overdue in a session, and look again when the next person would be."""
    session = Session.objects.select_related("trip__rules", "site").filter(uuid=session_uuid).first()
    if session is None:
        return "the session is gone"
    again = overdue.overdue_tell(session=session, now=timezone.now())
    if again is None:
        return "nobody is waited for"
    overdue_watch.using(run_after=again).enqueue(session_uuid)
    return "looks again"


def overdue_watch_set(sessions: Iterable[Session], *, now: datetime) -> None:
    """Have a worker look after each session when somebody of it could be overdue, at once where that is past.

    Where a worker will look no later anyway, no second task is set; what ended days ago is left alone.
    """
    waiting = DBTaskResult.objects.filter(task_path=overdue_watch.module_path, status=TaskResultStatus.READY)
    known = {(kept["args"][0], at) for kept, at in waiting.values_list("args_kwargs", "run_after")}
    for session in sessions:
        at = max(now, session.ends_at + timedelta(minutes=rules_of(session.trip).overdue_mail_min))
        is_set = any(uuid == str(session.uuid) and run_after <= at for uuid, run_after in known)
        if not is_set and session.ends_at > now - timedelta(days=ALARM_DAYS):
            overdue_watch.using(run_after=at).enqueue(str(session.uuid))
