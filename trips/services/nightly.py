"""What goes every night: notes, sign-ins, tries, tasks and payloads that nobody needs any more."""

from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

from axes.models import AccessAttempt
from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models.fields.json import KeyTransform
from django_tasks_db.models import DBTaskResult

from participants.models import AccessLink, Device, LinkPress, Submission
from trips.models import DriverList, Issue, Notice, PaperPack, Trip
from trips.models.paper import ACTIVE_PACK_STATES
from trips.services.calendars import HISTORY
from trips.services.health import health_erase_due
from trips.services.making import makings_give_up
from trips.services.paper_pack import paper_packs_give_up

# Days that rows are kept; common practice, no source.
TASKS_DAYS = 14
TRIES_DAYS = 28  # no limit and no link looks back further
FORMS_DAYS = 180  # a form that waits on a phone for longer would be taken a second time
PACKS_DAYS = 30
ISSUES_DAYS = 2  # after another issue followed: papers under way of the one before are printed by then


def nightly(*, now: datetime) -> dict[str, int]:
    """Let go what is due; returns how much of each kind went, in the words of the command's answer."""
    tries, packs = now - timedelta(days=TRIES_DAYS), now - timedelta(days=PACKS_DAYS)
    alive = Session.objects.filter(expire_date__gte=now).values("session_key")
    trips = list(Trip.objects.all())
    for trip in trips:
        makings_give_up(trip=trip, now=now)
        paper_packs_give_up(trip=trip, now=now)
    return {
        "health notes": health_erase_due(today=now.date()),
        "sessions": _gone(Session.objects.filter(expire_date__lt=now)),
        "devices": _gone(Device.objects.filter(revoked_at__isnull=True).exclude(session_digest__in=alive)),
        "tries to sign in": _gone(LinkPress.objects.filter(pressed_at__lt=tries))
        + _gone(AccessAttempt.objects.filter(attempt_time__lt=tries)),
        "notes of forms": _gone(Submission.objects.filter(taken_at__lt=now - timedelta(days=FORMS_DAYS))),
        "drivers' lists": _driver_lists_gone(now.date() - timedelta(days=TRIES_DAYS)),
        "tasks": _gone(DBTaskResult.objects.finished().filter(finished_at__lt=now - timedelta(days=TASKS_DAYS))),
        "packs of papers": _gone(PaperPack.objects.filter(asked_at__lt=packs).exclude(state__in=ACTIVE_PACK_STATES)),
        "issues that nobody sees": sum(_issues_thin(trip, now) for trip in trips),
    }


def _driver_lists_gone(before: date) -> int:
    """Lists of days long over, with their addresses."""
    old = DriverList.objects.filter(day__lt=before)
    AccessLink.objects.filter(kind="driver", owner_uuid__in=list(old.values_list("uuid", flat=True))).delete()
    return _gone(old)


def _gone(rows: Any) -> int:
    return int(rows.delete()[0])


@transaction.atomic
def _issues_thin(trip: Trip, now: datetime) -> int:
    """Empty what issues of a trip kept that no page, paper or calendar shows any more; returns how many issues.

    Those that another followed some days ago. The newest one says what earlier ones told; one that was kept before
    issues did so leaves all as they are.
    """
    rows = Issue.objects.filter(rota__trip=trip).order_by("issued_at", "pk")
    moments = list(rows.values_list("pk", "issued_at"))
    followed = [pk for (pk, _), (_, at) in pairwise(moments) if at < now - timedelta(ISSUES_DAYS)]
    if not followed or not rows.annotate(history=KeyTransform(HISTORY, "events")).filter(
        pk=moments[-1][0], history=True
    ):
        return 0
    old = Issue.objects.filter(pk__in=followed)
    old.exclude(events={}).update(events={})
    thinned = old.exclude(papers={}).update(papers={})
    old.exclude(pk__in=_compared(trip, [pk for pk, _ in moments])).exclude(pages={}).update(pages={})
    return thinned


def _compared(trip: Trip, issues: list[int]) -> set[int]:
    """The issues (of `issues`, oldest first) whose pages somebody's are still compared with.

    The last that a person or leader was told of; and of what they did not read, the first and the last, each with
    the issue before it and the one they were told of before.
    """
    told: dict[tuple[int | None, int | None], list[tuple[int, bool]]] = {}
    notices = Notice.objects.filter(issue__in=issues, session=None).order_by("issue__issued_at", "pk")
    for place, leader, issue, read_at in notices.values_list("place", "leader", "issue", "read_at"):
        told.setdefault((place, leader), []).append((issue, read_at is not None))
    kept: set[int] = set()
    for own in told.values():
        kept.add(own[-1][0])
        unread = [number for number, (_, is_read) in enumerate(own) if not is_read]
        for number in unread[:1] + unread[-1:]:
            before = issues.index(own[number][0])
            kept |= {issues[before - 1]} if before else set()
            kept |= {own[number - 1][0]} if number else set()
    return kept
