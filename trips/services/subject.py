"""What writes subjects and how they come to hides."""

from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.models import Hide, HideSubject, Subject, Trip, Wish
from trips.services.staleness import inputs_changed


class SubjectWished(CoreError):
    """A subject that people spent votes on cannot go: `name`, `people`."""


@dataclass(frozen=True)
class ChanceParts:
    """How subjects come to a hide: rows that changed, rows that go, subjects that come too, a subject made new."""

    saved: list[HideSubject] = field(default_factory=list)
    gone: list[HideSubject] = field(default_factory=list)
    added: list[Subject] = field(default_factory=list)
    new: Subject | None = None


@transaction.atomic
def subject_create(*, leader: Any, subject: Subject) -> Subject:
    """A new subject of a leader."""
    subject.leader = leader
    subject.save()
    return subject


@transaction.atomic
def subject_delete(*, subject: Subject) -> None:
    """Delete a subject that nobody wishes for."""
    people = Wish.objects.filter(subject=subject).count()
    if people:
        raise SubjectWished(name=subject.name, people=people)
    trips = list(Trip.objects.filter(sites__hides__hide_subjects__subject=subject))
    subject.delete()
    inputs_changed(trips)


@transaction.atomic
def chances_save(*, hide: Hide, parts: ChanceParts, seen_version: int) -> Hide:
    """Save how subjects come to a hide, all or nothing; `Stale` where somebody else changed the hide since."""
    row_save(row=hide, seen_version=seen_version)
    for row in parts.gone:
        row.delete()
    for row in parts.saved:
        row_save(row=row)
    if parts.new is not None:
        parts.new.save()
    for subject in (*parts.added, *([parts.new] if parts.new else [])):
        HideSubject.objects.create(hide=hide, subject=subject)
    return hide
